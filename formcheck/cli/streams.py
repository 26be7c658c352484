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


class Output(io.RawIOBase):
    """Passes bytes on to a stream until that fails, and then drops them; ``error`` says why."""

    def __init__(self, text: TextIO, stream: io.RawIOBase) -> None:
        super().__init__()
        self._text = text  # which closes the stream when it goes
        self._stream = stream
        self.error: OSError | None = None

    def writable(self) -> bool:
        """It is there to be written."""
        return True

    def fileno(self) -> int:
        """That of the stream."""
        return self._stream.fileno()

    def isatty(self) -> bool:
        """Whether the stream is a terminal."""
        return self._stream.isatty()

    def write(self, data: object) -> int:
        """Write what the stream takes; nothing is raised and nothing left over."""
        piece = memoryview(data)  # type: ignore[arg-type]
        while piece and self.error is None:
            try:
                piece = piece[self._stream.write(piece) or 0 :]
            except OSError as error:
                self.error = error
        return memoryview(data).nbytes  # type: ignore[arg-type]

    @property
    def failure(self) -> str:
        """Why output was lost that somebody may have wanted; empty if none was."""
        lost = self.error is not None and self.error.errno not in _GONE
        return os.strerror(self.error.errno or 0) if lost and self.error else ""


class _Text(io.TextIOWrapper):
    """Text in which nothing turns the direction of what a terminal shows after it."""

    def write(self, text: str) -> int:
        super().write(strip_direction(text))
        return len(text)


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


def robust(stream: TextIO) -> tuple[TextIO, Output | None]:
    """The stream, made robust; as it is where it is none of the system's."""
    buffer = getattr(stream, "buffer", None)
    raw = getattr(buffer, "raw", buffer)  # without a buffer where Python was told so
    if not (isinstance(stream, io.TextIOWrapper) and isinstance(raw, io.RawIOBase)):
        return stream, None
    output = Output(stream, raw)
    text = _Text(
        io.BufferedWriter(output),
        encoding=stream.encoding,
        errors=stream.errors,
        line_buffering=stream.line_buffering,
        write_through=stream.write_through,
    )
    return text, output


def print_error(message: str) -> None:
    """Say on standard error what is wrong; nothing in it steers the terminal."""
    lines = [strip_control(line) for line in f"formcheck: {message}".splitlines()]
    print("\n".join(lines), file=sys.stderr)
