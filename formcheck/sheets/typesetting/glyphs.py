"""What the shipped fonts can write, so that no empty box ever stands for a letter."""

import unicodedata
from bisect import bisect_right
from functools import cache
from importlib import resources

_UNKNOWN = "\N{REPLACEMENT CHARACTER}"
_SYNTAX = '"\\'


def writable(text: str) -> str:
    """The text with substitutes for characters that no shipped font has.

    Ornamental letters become plain ones; a character without a plain form becomes the replacement
    character, and a combining mark is dropped. Quotes and backslashes never appear where there were none.
    """
    if text.isascii():
        return text
    return "".join(c if is_covered(c) else _substitute(c) for c in text)


def is_covered(character: str) -> bool:
    """Whether a shipped font has the character, or it is of a kind that is never drawn."""
    if character.isascii() or unicodedata.category(character) == "Cf":
        return True
    starts, ends = _ranges()
    place = bisect_right(starts, ord(character)) - 1
    return place >= 0 and ord(character) <= ends[place]


def _substitute(character: str) -> str:
    plain = unicodedata.normalize("NFKC", character)
    if plain.isprintable() and all(is_covered(c) and c not in _SYNTAX for c in plain):
        return plain
    return "" if unicodedata.category(character).startswith("M") else _UNKNOWN


@cache
def _ranges() -> tuple[list[int], list[int]]:
    text = (resources.files(__package__) / "fonts" / "covered.txt").read_text("ascii")
    pairs = [entry.partition("-") for entry in text.split()]
    starts = [int(first, 16) for first, _, _ in pairs]
    return starts, [int(last or first, 16) for first, _, last in pairs]
