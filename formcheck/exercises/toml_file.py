"""Reading a TOML file that a person wrote: every way it can be unreadable gets one clear line."""

import tomllib
from collections.abc import Mapping
from typing import Any, Protocol

from formcheck.errors import ExerciseError

MAX_BYTES = 256 * 1024
"""Far above any file written by hand; anything larger is some other file."""


class Readable(Protocol):
    """What is needed of a path: a real one, or one inside the installed package."""

    def read_bytes(self) -> bytes:
        """All bytes of the file."""
        ...


def read_toml(file: Readable, label: str) -> Mapping[str, Any]:
    """The tables of ``file``; ``label`` names it in messages.

    Raises ExerciseError if it cannot be read, is not UTF-8 text, is too large or is not TOML.
    """
    return _parse(_decode(_read(file, label), label), label)


def _read(file: Readable, label: str) -> bytes:
    try:
        data = file.read_bytes()
    except FileNotFoundError:
        raise ExerciseError(f"{label}: there is no such file; check the path") from None
    except IsADirectoryError:
        raise ExerciseError(f"{label}: this is a folder; name a .toml file in it") from None
    except PermissionError:
        raise ExerciseError(f"{label}: may not be read; check its permissions") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise ExerciseError(f"{label}: cannot be read ({reason})") from None
    if len(data) > MAX_BYTES:
        raise ExerciseError(
            f"{label}: is {len(data) / 1024:.0f} kB; a file of this kind has at most "
            f"{MAX_BYTES // 1024} kB, so this is probably another file"
        )
    return data


def _decode(data: bytes, label: str) -> str:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    if "\0" in text:
        raise ExerciseError(f"{label}: is not UTF-8 text; save it as plain text in UTF-8")
    if not text.strip():
        raise ExerciseError(f"{label}: is empty")
    return text


def _parse(text: str, label: str) -> Mapping[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ExerciseError(f"{label}: not valid TOML: {_in_plain_words(str(error))}") from None
    except (ValueError, RecursionError) as error:
        reason = "nested too deeply" if isinstance(error, RecursionError) else "a number too long"
        raise ExerciseError(f"{label}: not valid TOML: {reason}") from None


def _in_plain_words(message: str) -> str:
    """Parser messages end in '(at line 3, column 5)'; the commonest slip gets its remedy."""
    if message.startswith("Invalid value"):
        return f"{message}; text needs quotes, and numbers a point (1.5), not a comma"
    if message.startswith("Cannot declare"):
        return f"{message}; a table that comes several times has two brackets, as in [[checks]]"
    return message
