"""How a command ends when it is told to: tidily, with one line, and an exit code that says so."""

import os
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

KINDS = tuple(
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
)
PATIENCE = 3
"""The third request ends a command at once; what it leaves is put right by the next run.
Mechanical."""


class Stopped(BaseException):
    """The user or the system wants this command to end. Like KeyboardInterrupt, it is no error."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.exit_code = 128 + number


@contextmanager
def stoppable() -> Iterator[None]:
    """Raise Stopped in the block when a signal asks to end; more of them do not disturb tidying up."""

    def stop(number: int, times: int) -> None:
        if times == 1:
            raise Stopped(number)

    with _handled(stop):
        yield


@contextmanager
def stop_event() -> Iterator[tuple[threading.Event, list[int]]]:
    """An event that a signal sets in place of raising Stopped, and the signals that came."""
    event, came = threading.Event(), list[int]()

    def stop(number: int, times: int) -> None:
        came.append(number)
        event.set()

    with _handled(stop):
        yield event, came


@contextmanager
def _handled(stop: Callable[[int, int], None]) -> Iterator[None]:
    times = 0

    def handler(number: int, frame: FrameType | None) -> None:
        nonlocal times
        times += 1
        if times >= PATIENCE:
            os._exit(128 + number)
        stop(number, times)

    # One that is ignored stays so: that is how nohup and shells keep a command going.
    kinds = [kind for kind in KINDS if signal.getsignal(kind) is not signal.SIG_IGN]
    before = {kind: signal.signal(kind, handler) for kind in kinds}
    over = True
    try:
        yield
    except Stopped:
        over = False  # what is left to do is to tidy up
        raise
    finally:
        for kind, earlier in before.items() if over else ():
            signal.signal(kind, earlier)
