"""Reading a TOML file that a person wrote: every way it can be unreadable gets one clear line."""

import re
import tomllib
from collections.abc import Mapping
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from formcheck.errors import ExerciseError, UsageError
from formcheck.text import strip_bidi
from formcheck.text_file import read_text_file

MAX_BYTES = 256 * 1024
"""Far above any file written by hand; anything larger is some other file."""


_DEEP_KEY = re.compile(r"""(?<![\w"'-])(?:[\w"'-]++[ \t]*+\.[ \t]*+){16}[\w"'-]++[ \t]*+[=\]]""")
"""A key of more parts than any file has; with ten thousand, the parser would take seconds."""


def read_toml(file: Path | Traversable, label: str) -> Mapping[str, Any]:
    """The tables of ``file``; ``label`` names it in messages.

    Raises ExerciseError if it cannot be read, is not UTF-8 text, is too large or is not TOML.
    """
    try:
        text = read_text_file(file, label, MAX_BYTES)
    except UsageError as error:
        raise ExerciseError(str(error)) from None
    if not text.strip():
        raise ExerciseError(f"{label}: is empty")
    try:
        return {_harmless(key): _harmless(value) for key, value in parse_toml(text).items()}
    except ValueError as error:
        raise ExerciseError(f"{label}: not valid TOML: {error}") from None


def parse_toml(text: str) -> Mapping[str, Any]:
    """The tables of a text. Raises ValueError that says in plain words what is wrong with it."""
    if deep := _DEEP_KEY.search(text):
        line = text.count("\n", 0, deep.start()) + 1
        raise ValueError(f"a key with too many parts (at line {line})")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ValueError(_in_plain_words(str(error))) from None
    except RecursionError:
        raise ValueError("nested too deeply") from None
    except ValueError:
        raise ValueError("a number too long") from None


def _harmless(value: Any) -> Any:  # noqa: ANN401 - whatever TOML holds
    """Text that can neither steer a terminal nor turn around the line that it stands in."""
    if isinstance(value, str):
        return strip_bidi(value)
    if isinstance(value, list):
        return [_harmless(item) for item in value]
    if isinstance(value, dict):
        return {_harmless(key): _harmless(item) for key, item in value.items()}
    return value


def _in_plain_words(message: str) -> str:
    """Parser messages end in '(at line 3, column 5)'; the commonest slip gets its remedy."""
    if message.startswith("Invalid value"):
        return f"{message}; text needs quotes, and numbers a point (1.5), not a comma"
    if message.startswith("Cannot declare"):
        return f"{message}; a table that comes several times has two brackets, as in [[checks]]"
    return message
