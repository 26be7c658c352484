"""Files broken at random, the same each time, and commands run on them, one forked process each."""

import contextlib
import io
import multiprocessing
import os
import random
import resource
import sys
import time
import traceback
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from formcheck.cli import main

MOST_BYTES = 8 * 2**30
"""Address space of a command."""


@dataclass(frozen=True)
class Ran:
    """How a command ended: its exit code (None if it was stopped), what it said, how long it took on
    the clock.
    """

    code: int | None
    said: str
    seconds: float

    def fault(self, allowed: Sequence[int]) -> str:
        """What is wrong with it, or nothing."""
        if self.code is None:
            return f"no end after {self.seconds:.0f} s"
        if "Traceback" in self.said:
            return self.said.strip().splitlines()[-1]
        if self.code not in allowed:
            return f"exit code {self.code}: {self.said[-300:]}"
        if self.code and not self.said.strip():
            return f"exit code {self.code} without a word"
        steering = [c for c in self.said if not (c.isprintable() or c in "\n\t\u200c\u200d")]
        return f"steers the terminal: {steering[:3]!r}" if steering else ""


def run(arguments: Sequence[str], processor_s: int) -> Ran:
    """formcheck with these arguments in a fork of this process, which has all modules loaded.

    It is stopped after so much processor time, and after ten times that on the clock: a busy machine
    is no fault, but waiting for ever is.
    """
    context = multiprocessing.get_context("fork")
    mine, theirs = context.Pipe(duplex=False)
    child = context.Process(target=_command, args=(list(arguments), processor_s, theirs))
    start = time.monotonic()
    child.start()
    theirs.close()
    try:
        answered = mine.poll(10 * processor_s)
        code, said = mine.recv() if answered else (None, "")
    except EOFError:  # ended without an answer, by a signal
        child.join()
        code, said = child.exitcode, f"ended by signal {-(child.exitcode or 0)}"
    if child.is_alive() and code is None:
        child.kill()
    child.join()
    return Ran(code, said, time.monotonic() - start)


def _command(arguments: list[str], processor_s: int, pipe) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    used = int(time.process_time()) + 1
    resource.setrlimit(resource.RLIMIT_CPU, (used + processor_s, used + processor_s))
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    said = io.StringIO()
    sys.argv = ["formcheck", *arguments]
    code: object = 0
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        try:
            main()
        except SystemExit as end:
            code = end.code
        except BaseException:
            said.write(traceback.format_exc())
            code = 1
    pipe.send((code or 0, said.getvalue()))
    pipe.close()
    os._exit(0)


def mutated(data: bytes, chance: random.Random, pieces: Sequence[bytes]) -> bytes:
    """``data`` with one or two slips: bytes changed, a piece lost, doubled, moved or put in."""
    changed = bytearray(data)
    for _ in range(chance.randint(1, 2)):
        at = chance.randrange(len(changed) or 1)
        piece = bytes(changed[at : at + chance.randint(1, 64)])
        match chance.randrange(6):
            case 0:
                changed[at % len(changed)] = chance.randrange(256)
            case 1:
                del changed[at : at + len(piece)]
            case 2:
                changed[at:at] = piece * chance.choice((1, 3, 1000))
            case 3:
                del changed[at:]
            case _:
                changed[at : at + chance.choice((0, len(piece)))] = chance.choice(pieces)
        changed = changed or bytearray(b"\n")
    return bytes(changed)


def tell(name: str, faults: Sequence[str], ran: Sequence[Ran]) -> int:
    """Print what came of many runs; 1 if anything is wrong."""
    counts = dict(Counter(str(one.code) for one in ran))
    longest = max((one.seconds for one in ran), default=0.0)
    print(f"{name}: {len(ran)} runs, exit codes {counts}, longest {longest:.1f} s")
    print(f"{len(faults)} faults", *faults, sep="\n  ")
    return 1 if faults else 0
