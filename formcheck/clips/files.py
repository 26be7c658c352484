"""What a file must be before it is opened as a clip, and the fingerprint of its content."""

import hashlib
import stat
from pathlib import Path

from formcheck.errors import ClipError


def fingerprint(path: Path) -> str:
    """SHA-256 of a clip's content in hexadecimal, read in pieces.

    Raises ClipError, with the file's name alone, unless it is a readable, non-empty ordinary file.
    """
    name = path.name or path.resolve().name  # "." has none
    try:
        name.encode("utf-8")
    except UnicodeEncodeError:
        raise ClipError(f"{name}: the file's name is not valid text; rename it") from None
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise ClipError(f"{name}: this is a folder; name a video file in it")
        if not stat.S_ISREG(mode):  # opening a pipe or a device could wait for ever
            raise ClipError(f"{name}: this is not an ordinary file; name a video file")
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256")
            if not file.tell():
                raise ClipError(f"{name}: the file is empty; copy the recording again")
    except FileNotFoundError:
        raise ClipError(f"{name}: there is no such file; check its name and folder") from None
    except PermissionError:
        raise ClipError(f"{name}: may not be read; check its permissions") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise ClipError(f"{name}: cannot be read ({reason}); copy the file again") from None
    return digest.hexdigest()


def starts_like_a_clip(path: Path) -> bool:
    """Whether the first bytes are those of a usual video file, whatever comes after them."""
    with path.open("rb") as file:
        head = file.read(8)
    return head.startswith((b"\x1aE\xdf\xa3", b"RIFF", b"OggS", b"GIF8")) or head[4:] == b"ftyp"
