"""Odd surroundings for the command, each with the exit code and the words that are promised.

python -m tests.faults.surroundings
"""

import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from tests.faults.workplace import EXERCISE, HANG_S, Workplace

PRELUDE = f"""
set -o pipefail
formcheck() {{ "$PYTHON" -m formcheck "$@"; }}
check() {{ formcheck check clips/set.mp4 --exercise {EXERCISE} --out out --no-pdf "$@"; }}
"""
PTY = """"$PYTHON" -c 'import os, pty, sys; sys.exit(os.waitstatus_to_exitcode(pty.spawn(sys.argv[1:])))' """


@dataclass(frozen=True)
class Odd:
    """A line of shell; ``sheet`` says whether there is one after it."""

    shell: str
    code: int = 0
    words: str = ""
    sheet: bool = False


SURROUNDINGS = {
    "output that ends early": Odd("formcheck exercises | head -1"),
    "output that ends at once": Odd("check | true", sheet=True),
    "help that ends early": Odd("formcheck check --help | head -1"),
    "a full disk behind the output": Odd("formcheck exercises > /dev/full", 2, "not whole: No space"),
    "a full disk behind a check": Odd("check > /dev/full", 2, "not whole: No space", sheet=True),
    "a full disk behind both": Odd("formcheck exercises show nothing > /dev/full 2> /dev/full", 2),
    "closed output": Odd("check >&-", sheet=True),
    "closed errors": Odd("formcheck check nothing.mp4 --out out 2>&-", 3),
    "closed input": Odd("check <&-", sheet=True),
    "all closed": Odd("check <&- >&- 2>&-", sheet=True),
    "no terminal": Odd("setsid -w bash -c 'check' < /dev/null", sheet=True),
    "40 columns": Odd("COLUMNS=40 check", 0, "kind rep (partial), side right", sheet=True),
    "12 columns": Odd("COLUMNS=12 check", sheet=True),
    "a terminal": Odd(f"{PTY} $PYTHON -m formcheck exercises"),
    "a dumb terminal": Odd("TERM=dumb check", sheet=True),
    "no colours": Odd("NO_COLOR=1 check", sheet=True),
    "no home": Odd("env -u HOME \"$PYTHON\" -m formcheck exercises"),
    "a home that cannot be written": Odd("HOME=/proc check", sheet=True),
    "an empty environment": Odd("env -i \"PYTHONPATH=$PYTHONPATH\" \"$PYTHON\" -m formcheck exercises"),
    "the C locale": Odd("LC_ALL=C LANG=C check", sheet=True),
    "ASCII output": Odd("PYTHONIOENCODING=ascii PYTHONUTF8=0 formcheck exercises"),
    "Latin-1 output": Odd("PYTHONIOENCODING=latin-1 PYTHONUTF8=0 formcheck exercises"),
    "another time zone": Odd("TZ=Pacific/Kiritimati check", sheet=True),
    "a cache that cannot be written": Odd("FORMCHECK_CACHE_DIR=/proc/nowhere formcheck exercises"),
    "no temporary folder": Odd("TMPDIR=/nowhere check", sheet=True),
    "results that cannot be written": Odd(
        f"formcheck check clips/set.mp4 --exercise {EXERCISE} --out /proc/out", 2, "cannot be written"
    ),
    "a generous umask": Odd("umask 0; check; test -z \"$(find out -mindepth 1 -perm /077)\"", sheet=True),
    "a strict umask": Odd("umask 777; check", sheet=True),
    "an ignored hangup": Odd("nohup bash -c check < /dev/null", sheet=True),
    "started from a folder that has gone": Odd(
        "mkdir gone; cd gone; rmdir ../gone; formcheck exercises"
    ),
    "a clip in a folder that has gone": Odd(
        f"formcheck check gone/set.mp4 clips/set.mp4 --exercise {EXERCISE} --out out --no-pdf",
        3, "no such file", sheet=True,
    ),
    "a name that turns the line": Odd(
        "cp clips/set.mp4 clips/$'a\\u202e4pm.mp4'; "
        f"formcheck check clips/a*.mp4 --exercise {EXERCISE} --out other --no-pdf "
        "| { ! grep -q $'\\u202e'; }",
    ),
    "a name that is not text": Odd(
        "cp clips/set.mp4 clips/$'\\xff.mp4'; "
        f"formcheck check clips/$'\\xff.mp4' clips/set.mp4 --exercise {EXERCISE} --out out --no-pdf",
        3, "not valid text", sheet=True,
    ),
    "warnings as errors": Odd("PYTHONWARNINGS=error::RuntimeWarning check", sheet=True),
}  # fmt: skip


def endure(place: Workplace, odd: Odd) -> None:
    """Do it, and see that all is as promised."""
    done = subprocess.run(
        ["bash", "-c", PRELUDE + "export -f formcheck check\n" + odd.shell],
        env=place.environment,
        cwd=place.root,
        capture_output=True,
        timeout=HANG_S,
        check=False,
    )
    told = (done.stdout + done.stderr).decode("utf-8", "replace")
    assert done.returncode == odd.code, told
    assert odd.words in told
    assert "Traceback" not in told
    assert "itself" not in told
    assert place.hidden() == []
    assert (place.out / "set" / "sheet.html").exists() == odd.sheet


def main() -> int:
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        place = Workplace(Path(folder) / "place")
        place.add_clip("set.mp4")
        for name, odd in SURROUNDINGS.items():
            place.forget_results()
            try:
                endure(place, odd)
            except (AssertionError, subprocess.TimeoutExpired) as error:
                wrong += 1
                sys.stdout.write(f"WRONG {name}: {error}\n")
                sys.stdout.flush()
    sys.stdout.write(f"{len(SURROUNDINGS)} odd surroundings, {wrong} not as promised\n")
    return min(wrong, 1)


if __name__ == "__main__":
    raise SystemExit(main())
