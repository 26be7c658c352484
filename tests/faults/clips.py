"""Clips broken at random: checked, or refused in words, and neither hang nor take all memory.

``python -m tests.faults.clips --mutations 500 --minutes 8`` runs more than the suite does.
"""

import argparse
import os
import random
import sys
import tempfile
import time
from fractions import Fraction
from pathlib import Path

import formcheck.pipeline.check
import formcheck.sheets.write  # noqa: F401 - loaded once, before all forks
from tests.clips.maker import write_clip
from tests.faults.mutants import Ran, mutated, run, tell

MOST_PROCESSOR_S = 30
FORMS = {
    "mp4": {},
    "mov": {"codec": "mpeg4", "tick": Fraction(1, 1000)},
    "webm": {"codec": "libvpx-vp9"},
    "avi": {"codec": "mpeg4", "tick": Fraction(1, 30)},
    "gif": {"codec": "gif", "pixel_format": "rgb8"},
}
PIECES = [b"\xff\xff\xff\xff", b"\0\0\0\0", b"\x7f\xff\xff\xff", b"moov", b"mdat", b"\0\0\1\xb6"]


def try_clips(mutations: int, seed: int, minutes: float) -> tuple[list[str], list[Ran]]:
    """What is wrong with the answers to so many broken clips, and how all commands ended; no new one
    is begun after so many minutes.
    """
    chance, end = random.Random(seed), time.monotonic() + 60 * minutes
    faults, ran = [], []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.environ["FORMCHECK_CACHE_DIR"] = str(folder / "cache")
        whole = {
            kind: write_clip(
                folder / f"whole.{kind}", [n / 10 for n in range(6)], **form
            ).read_bytes()
            for kind, form in FORMS.items()
        }
        for number in range(mutations):
            if time.monotonic() > end:
                break
            kind = chance.choice(list(FORMS))
            path = folder / f"m{number}.{kind}"
            path.write_bytes(mutated(whole[kind], chance, PIECES))
            command = ["preflight", str(path), "--exercise", "side-raise"]
            if number % 2:
                command = ["check", *command[1:], "--no-pdf", "--out", str(folder / "out")]
            ran.append(run(command, MOST_PROCESSOR_S))
            if fault := ran[-1].fault((0, 3, 4)):
                faults.append(f"{number} ({command[0]} {kind}): {fault}")
            path.unlink()
        hidden = [path.name for path in folder.glob("out/.*")]
    return faults + [f"left behind: {name}" for name in hidden], ran


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--mutations", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=8)
    given = parser.parse_args()
    sys.exit(tell("clips", *try_clips(given.mutations, given.seed, given.minutes)))
