"""The coach's note: plain text from a file, taken as it is and never as markup."""

from pathlib import Path

from formcheck.errors import UsageError
from formcheck.text import strip_bidi
from formcheck.text_file import read_text_file

LONGEST_NOTE = 10_000
"""Characters: some pages of text. A proposal."""


def read_note(path: Path) -> tuple[str, ...]:
    """The lines of a note, each a harmless line of text.

    Raises UsageError if the file cannot be read, is not text in UTF-8 or longer than LONGEST_NOTE.
    """
    text = read_text_file(path, f"--note: {path}", 4 * LONGEST_NOTE)  # in UTF-8
    if len(text) > LONGEST_NOTE:
        raise UsageError(f"--note: {path} is longer than {LONGEST_NOTE} characters; shorten it.")
    return tuple(strip_bidi(line) for line in text.strip().splitlines())
