"""Standard streams that never get in the way of the work, whatever is at their other end."""

import errno
import io
import os
import sys
from contextlib import suppress
from typing import TextIO

from formcheck.text import strip_control, strip_direction

_GONE = (errno.EPIPE, errno.EIO)
"""The reader has had enough, or the terminal was closed: nobody misses the rest."""


class RobustStream(io.TextIOWrapper):
    """A stream that goes nowhere once it cannot be written; ``failure`` says why somebody may care.

    Nothing in its text turns the direction of what a terminal shows after it.
    """

    def __init__(self, stream: io.TextIOWrapper) -> None:
        super().__init__(
            stream.buffer,
            encoding=stream.encoding,
            errors=stream.errors,
            line_buffering=stream.line_buffering,
            write_through=stream.write_through,
        )
        self._stream = stream  # which would close the buffer if it went
        self.failure = ""

    def write(self, text: str) -> int:
        """Write what can be written."""
        try:
            super().write(strip_direction(text))
        except OSError as error:
            self._give_up(error)
        return len(text)

    def flush(self) -> None:
        """Flush what can be flushed."""
        try:
            super().flush()
        except OSError as error:
            self._give_up(error)

    def _give_up(self, error: OSError) -> None:
        if error.errno not in _GONE:
            self.failure = error.strerror or str(error)
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, self.fileno())
        os.close(nowhere)


def open_closed() -> None:
    """Have the three standard handles lead to nowhere where they are closed.

    Otherwise the next file that is opened takes their number, and messages are written into it.
    """
    for handle in (0, 1, 2):
        try:
            os.fstat(handle)
        except OSError:
            with suppress(OSError):
                os.open(os.devnull, os.O_RDWR)
    sys.stdin = sys.stdin or open(os.devnull, encoding="utf-8")  # noqa: SIM115
    sys.stdout = sys.stdout or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    sys.stderr = sys.stderr or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115


def robust(stream: TextIO) -> TextIO:
    """The stream, made robust; as it is where it is none of the system's."""
    try:
        stream.fileno()
    except OSError:
        return stream
    return RobustStream(stream) if isinstance(stream, io.TextIOWrapper) else stream


def print_error(message: str) -> None:
    """Say on standard error what is wrong; nothing in it steers the terminal."""
    lines = [strip_control(line) for line in f"formcheck: {message}".splitlines()]
    print("\n".join(lines), file=sys.stderr)
