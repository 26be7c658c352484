"""Which folder the result of a clip goes into: readable, safe on every system, the clip's own for good."""

import tempfile
import unicodedata
from pathlib import Path

from formcheck.atomic_output import holds_clip, may_hold
from formcheck.scratch import recover

ASIDE = "set-aside"
"""Folder in which a batch says why a clip has no result."""
MAX_LENGTH = 60
"""Letters of a folder's name. Mechanical."""
_RESERVED = {"con", "prn", "aux", "nul", ASIDE, "summary"} | {
    f"{device}{number}" for device in ("com", "lpt") for number in range(10)
}


def safe_name(text: str) -> str:
    """Letters, digits, ``-``, ``_``, ``.`` and single spaces of a name; never empty or hidden.

    Device names of Windows and the names that a batch uses itself get a ``clip-`` before them.
    """
    normal = unicodedata.normalize("NFC", text)
    kept = "".join(c if c.isalnum() or c in "-_. " else "-" for c in normal)
    name = " ".join(kept.split())[:MAX_LENGTH].strip("-. ") or "clip"
    return f"clip-{name}" if name.split(".")[0].casefold() in _RESERVED else name


def result_folder(out: Path, name: str, clip_sha256: str) -> Path:
    """The folder of that name in ``out``, or with a short code where another clip's result has it.

    A clip finds its own folder again. So no result ever takes the place of another clip's, and
    whatever was put beside one stays with its clip.
    """
    plain, coded = out / name, out / f"{name}-{clip_sha256[:8]}"
    return coded if holds_clip(coded, clip_sha256) or not _free(plain, clip_sha256) else plain


def recover_results(out: Path) -> list[str]:
    """Put right what killed runs left in a folder of results and among the temporary files.

    Returns a line for each thing that was found.
    """
    places = (out, out / ASIDE, Path(tempfile.gettempdir()))
    return [line for place in places for line in recover(place)]


def _free(folder: Path, clip_sha256: str) -> bool:
    try:
        return may_hold(folder, clip_sha256)
    except OSError:
        return False
