"""The coach's note: plain text from a file, taken as it is and never as markup."""

from pathlib import Path

from formcheck.errors import UsageError
from formcheck.text import strip_bidi

LONGEST_NOTE = 10_000
"""Characters: some pages of text. A proposal."""


def read_note(path: Path) -> tuple[str, ...]:
    """The lines of a note, each a harmless line of text.

    Raises UsageError if the file cannot be read, is not text in UTF-8 or longer than LONGEST_NOTE.
    """
    try:
        with path.open(encoding="utf-8-sig") as file:
            text = file.read(LONGEST_NOTE + 1)
    except UnicodeDecodeError as error:
        raise UsageError(f"--note: {path} is not plain text in UTF-8; save it as that.") from error
    except OSError as error:
        why = error.strerror or str(error)
        raise UsageError(f"--note: {path} cannot be read: {why}. Check its name.") from error
    if len(text) > LONGEST_NOTE:
        raise UsageError(f"--note: {path} is longer than {LONGEST_NOTE} characters; shorten it.")
    return tuple(strip_bidi(line) for line in text.strip().splitlines())
