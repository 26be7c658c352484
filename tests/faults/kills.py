"""End ``check`` and ``batch`` at random moments: nothing is lost, nothing hidden stays.

python -m tests.faults.kills [--kills 40] [--signal KILL] [check | batch]
"""

import argparse
import signal
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from tests.faults.workplace import EXERCISE, HANG_S, Workplace, finish

LONGEST_S = 1.5
"""A moment up to so long after something is first half-written."""
CLIPS = 6


def end(place: Workplace, command: tuple, kind: signal.Signals, found: Counter, *, waits: bool):
    """End one run at random, or ``waits`` until it writes and then a random time; count its end."""
    process = place.start(*command)
    if waits:
        place.wait_until_writing(process)
    time.sleep(place.chance.uniform(0, LONGEST_S))
    process.send_signal(kind)
    done = finish(process)
    found[f"exit {done.returncode}"] += 1
    found["half-written after it"] += bool(place.hidden())
    if kind is not signal.SIGKILL:
        assert_tidy(place, done, kind)


def end_checks(place: Workplace, times: int, kind: signal.Signals) -> Counter:
    """End ``check`` so often, each time with the same clip over its earlier result with a note."""
    clip = place.add_clip("set.mp4")
    command = ("check", clip, "--exercise", EXERCISE, "--out", place.out)
    assert place.run(*command).returncode == 0
    whole = place.results()
    note = place.out / "set" / "coach-note.html"
    note.write_text("about this set")
    found = Counter()
    for number in range(times):
        end(place, command, kind, found, waits=bool(number % 4))
        assert place.results() in (whole, {})  # {} while the earlier one makes way
        if number % 2:
            assert place.run(*command).returncode == 0
        else:
            another_check(place)
        assert (place.hidden(), place.results()) == ([], whole)
        assert note.read_text() == "about this set"
    return found


def assert_tidy(place, done, kind):
    """Nothing is left; it was all but done, or had not begun, or said what to do next."""
    assert place.hidden() == []
    if done.returncode not in (0, -kind):
        assert done.returncode == 128 + kind
        (line,) = [line for line in done.stderr.splitlines() if not line.endswith("% done")]
        assert line.startswith("formcheck: stopped")


def another_check(place):
    """A check that comes to nothing still puts right what an earlier one left."""
    done = place.run(
        "check", place.clips / "nowhere.mp4", "--exercise", EXERCISE, "--out", place.out
    )
    assert done.returncode == 3


def end_batches(place: Workplace, times: int, kind: signal.Signals) -> Counter:
    """End ``batch`` so often; whenever all is done, begin anew."""
    for number in range(CLIPS):
        place.add_clip(f"set-{number}.mp4")
    command = ("batch", place.clips, "--exercise", EXERCISE, "--out", place.out, "--workers", 2)
    assert place.run(*command).returncode == 0
    whole, found = place.results(), Counter()
    kept = {}
    for number in range(times):
        if len(kept) == CLIPS:
            assert place.run(*command).returncode == 0  # the last word on what was left
            assert (place.hidden(), place.results()) == ([], whole)
            kept = {}
            place.forget_results()
        end(place, command, kind, found, waits=bool(number % 4))
        results = place.results()
        assert kept.items() <= results.items() <= whole.items()
        kept = results
    assert place.run(*command).returncode == 0
    wait_for_orphans(place)
    assert (place.hidden(), place.results()) == ([], whole)
    return found


def wait_for_orphans(place):
    """Workers whose batch was killed end by themselves; what they held is put right afterwards."""
    give_up_at = time.monotonic() + HANG_S
    while place.hidden() and time.monotonic() < give_up_at:
        another_check(place)


TRIALS = {"check": end_checks, "batch": end_batches}

if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", nargs="*", choices=[*TRIALS, []], default=list(TRIALS))
    parser.add_argument("--kills", type=int, default=40)
    parser.add_argument("--signal", default="KILL", choices=["KILL", "INT", "TERM", "HUP"])
    asked = parser.parse_args()
    for what in asked.what:
        with tempfile.TemporaryDirectory() as folder:
            place = Workplace(Path(folder))
            counts = TRIALS[what](place, asked.kills, signal.Signals[f"SIG{asked.signal}"])
        found = f"nothing lost, nothing left; {dict(counts)}"
        sys.stdout.write(f"{what}, {asked.kills} x {asked.signal}: {found}\n")
