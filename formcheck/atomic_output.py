"""Files and folders that are written whole or not at all, for nobody else to read unless shared.

What is there already keeps its permissions; what is new is its user's alone.
"""

import json
import os
import shutil
import stat
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from formcheck.errors import OutputError
from formcheck.scratch import EARLIER, place_outside, scratch_folder

RESULT = "result.json"  # a folder that holds one of ours may be written again
TABLE_START = b"time_s,"  # and so may a table that starts like ours


def prepare_folder(folder: Path, *, share: bool = False) -> None:
    """Make the folder if need be and prove that it can be written.

    Raises OutputError in one line if it cannot.
    """
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        folder.mkdir(mode=0o777 if share else 0o700, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        raise refusal(folder, error) from error


@contextmanager
def whole_file(target: Path, *, durable: bool = False, share: bool = False) -> Iterator[Path]:
    """A path to write a file to, which takes the place of ``target`` once the block is done.

    If anything goes wrong an earlier file stays as it was. ``durable`` has it on the disk before it
    takes its place, so that a power cut leaves one of the two whole.

    Raises OSError if the place cannot be written.
    """
    with scratch_folder(target.parent) as scratch:
        draft = scratch / target.name
        yield draft
        _set_mode(draft, _mode(target, share) & 0o666)
        if durable:
            flush_to_disk(draft)
        draft.replace(target)


def flush_to_disk(path: Path) -> None:
    """Have what was written to a file or folder on the disk. Raises OSError."""
    if os.name != "posix" and path.is_dir():
        return  # folders cannot be opened there
    handle = os.open(path, os.O_RDONLY if os.name == "posix" else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def whole_folder(
    target: Path, clip_sha256: str | None = None, *, share: bool = False
) -> Iterator[Path]:
    """A new folder beside ``target`` to write into, which takes its place once the block is done.

    An earlier result there is replaced; files in it that formcheck does not make are kept. With
    ``clip_sha256`` only a result of that clip is. If anything goes wrong the earlier result stays as
    it was and nothing half-written is left.

    Raises
    ------
    OutputError
        The place cannot be written, or holds something that must not be replaced.
    """
    _refuse_foreign(target, clip_sha256)
    prepare_folder(target.parent, share=share)
    try:
        with scratch_folder(target.parent) as scratch:
            fresh = scratch / "fresh"
            fresh.mkdir()
            yield fresh
            _set_modes(fresh, _mode(target, share))
            _refuse_foreign(target, clip_sha256)
            _take_place(fresh, target, scratch / EARLIER)
    except OSError as error:
        raise refusal(target, error) from error


@contextmanager
def whole_table(target: Path) -> Iterator[Path]:
    """A new file beside ``target`` to write a CSV table into, which takes its place once it is done.

    Raises
    ------
    OutputError
        The place cannot be written, or holds something other than such a table; see
        ``refuse_table``, which can be asked beforehand.
    """
    refuse_table(target)
    try:
        with whole_file(target) as fresh:
            yield fresh
    except OSError as error:
        raise refusal(target, error) from error


def refuse_table(target: Path) -> None:
    """Raise OutputError where a table of measures must not be put: only another makes way for it."""
    if target.suffix.lower() != ".csv":
        raise OutputError(f"--out {target}: a table of measures must end in .csv")
    try:
        there = target.exists()
        ours = there and target.is_file() and _starts_as_table(target)
    except OSError as error:
        raise refusal(target, error) from error
    if there and not ours:
        raise OutputError(
            f"{target} is already there and is not a table of measures that formcheck made; "
            "nothing was written. Choose another name with --out."
        )


def _starts_as_table(path: Path) -> bool:
    with path.open("rb") as file:
        return file.read(len(TABLE_START)) == TABLE_START


def may_hold(target: Path, clip_sha256: str | None) -> bool:
    """Whether a result may be put there: nothing is, or what a new one replaces.

    That is an earlier result (of that clip, if one is given), or what is left of one.
    """
    if not os.path.lexists(target):
        return True
    try:
        names = {entry.name for entry in target.iterdir()}
    except NotADirectoryError:
        return False
    if RESULT not in names:
        return names <= OUTPUT_NAMES
    found = _read_result(target / RESULT)
    return bool(found) and clip_sha256 in (None, _clip_in(found))


def holds_clip(folder: Path, clip_sha256: str) -> bool:
    """Whether that folder is a result of that clip."""
    return _clip_in(_read_result(folder / RESULT)) == clip_sha256


def _take_place(fresh: Path, target: Path, aside: Path) -> None:
    if os.path.lexists(target):
        _keep_foreign(target, fresh)
        aside.mkdir()
        target.rename(aside / target.name)  # which comes back if we get no further
    fresh.rename(target)


def _set_modes(fresh: Path, mode: int) -> None:
    for path in fresh.iterdir():
        _set_mode(path, mode & 0o666)
    _set_mode(fresh, mode | stat.S_IRWXU)


def _set_mode(path: Path, mode: int) -> None:
    with suppress(OSError):  # some disks have no permissions
        path.chmod(mode)


def _mode(target: Path, share: bool) -> int:
    """The permissions of what is there, or those that a new folder gets."""
    try:
        return stat.S_IMODE(target.stat().st_mode)
    except OSError:
        return 0o777 & ~_umask() if share else 0o700


def _refuse_foreign(target: Path, clip_sha256: str | None) -> None:
    try:
        free = may_hold(target, clip_sha256)
    except OSError as error:
        raise refusal(target, error) from error
    if free:
        return
    what = (
        "is already there with the result of another clip"
        if _read_result(target / RESULT)
        else "is already there and is not a result that formcheck made"
    )
    raise OutputError(f"{target} {what}; nothing was written. Choose another folder with --out.")


def _read_result(path: Path) -> dict[str, Any]:
    """What a result says; nothing where there is none that formcheck made."""
    try:
        content = json.loads(path.read_text("utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    ours = isinstance(content, dict) and {"schema", "provenance"} <= set(content)
    return content if ours else {}


def _clip_in(result: dict[str, Any]) -> object:
    clip = result.get("clip")
    return clip.get("sha256") if isinstance(clip, dict) else None


def _keep_foreign(earlier: Path, fresh: Path) -> None:
    """Copy what somebody else put beside an earlier result, such as notes."""
    for entry in earlier.iterdir():
        if entry.name in OUTPUT_NAMES or (fresh / entry.name).exists():
            continue
        if entry.is_dir() and not entry.is_symlink():
            shutil.copytree(entry, fresh / entry.name, symlinks=True)
        else:
            shutil.copy2(entry, fresh / entry.name, follow_symlinks=False)


OUTPUT_NAMES = frozenset(
    {
        RESULT,
        "sheet.html",
        "still.jpg",
        "coach.html",
        "sheet.pdf",
        "coach.pdf",
        "measures.csv",
        "reps.csv",
        "annotated.mp4",
        "observations.json",
        "batch.json",
    }
)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def refusal(place: Path, error: OSError) -> OutputError:
    """What to tell of a folder or file that cannot be written."""
    why = error.strerror or str(error)
    return OutputError(
        f"{place_outside(place)} cannot be written: {why}. "
        "Choose another folder with --out, or free this one."
    )
