"""Small changes of text: what comes from outside made harmless, and a capital first letter."""

import unicodedata

_DIRECTION_CONTROLS = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
_FORMULA_STARTS = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")
_JOINERS = "\u200c\u200d"


def strip_bidi(text: str) -> str:
    """For a page: one line without control characters, and without those that turn its direction.

    Left in, a right-to-left override in a name would turn around what stands behind it.
    """
    if text.isascii() and text.isprintable():
        return text
    return strip_direction(_spaced(text))


def strip_direction(text: str) -> str:
    """Text without the characters that turn the direction of a line."""
    if text.isascii():
        return text
    return "".join(c for c in text if unicodedata.bidirectional(c) not in _DIRECTION_CONTROLS)


def strip_control(text: str) -> str:
    """For a terminal: text with nothing in it that could steer one or turn a line around.

    Control and format characters become replacement characters; the joiners that scripts need stay.
    """
    instead = "\N{REPLACEMENT CHARACTER}"
    return "".join(c if c.isprintable() or c in _JOINERS else instead for c in text)


def escape_formula(text: str) -> str:
    """For a table: text that a spreadsheet shows and does not run.

    An apostrophe goes before what starts a formula; control characters, line breaks among them,
    become spaces.
    """
    shown = _spaced(text)
    return f"'{shown}" if shown.lstrip().startswith(_FORMULA_STARTS) else shown


def capitalise_first(text: str) -> str:
    """The text with a capital first letter, for the start of a line."""
    return text[:1].upper() + text[1:]


def lower_first(text: str) -> str:
    """The text with a small first letter, for the middle of a line."""
    return text[:1].lower() + text[1:]


def _spaced(text: str) -> str:
    return "".join(" " if unicodedata.category(c) == "Cc" else c for c in text)
