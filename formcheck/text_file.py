"""Reading a text file that a person wrote, whatever really lies at its path."""

import stat
from importlib.resources.abc import Traversable
from pathlib import Path

from formcheck.errors import UsageError


def read_text_file(file: Path | Traversable, label: str, most_bytes: int) -> str:
    """The text of an ordinary file in UTF-8, with or without a byte order mark.

    Raises UsageError, starting with ``label``, for anything else, or more than ``most_bytes``. Reads
    no further than that, and opens neither pipes nor devices, which could wait or go on for ever.
    """
    data = _read(file, label, most_bytes + 1)
    if len(data) > most_bytes:
        raise UsageError(
            f"{label}: is larger than {most_bytes // 1024} kB, the most that a file of this kind has; "
            "is it another file?"
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    if "\0" in text:
        raise UsageError(f"{label}: is not UTF-8 text; save it as plain text in UTF-8")
    return text


def _read(file: Path | Traversable, label: str, most_bytes: int) -> bytes:
    try:
        mode = file.stat().st_mode if isinstance(file, Path) else stat.S_IFREG
        if stat.S_ISDIR(mode):
            raise UsageError(f"{label}: this is a folder; name a file in it")
        if not stat.S_ISREG(mode):
            raise UsageError(f"{label}: this is not an ordinary file; name a text file")
        with file.open("rb") as opened:
            return opened.read(most_bytes)
    except FileNotFoundError:
        raise UsageError(f"{label}: there is no such file; check its name and folder") from None
    except PermissionError:
        raise UsageError(f"{label}: may not be read; check its permissions") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise UsageError(f"{label}: cannot be read ({reason}); check its name") from None
