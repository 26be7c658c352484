"""Files and folders that are written whole or not at all."""

import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from formcheck.errors import OutputError

MARKER = "result.json"  # a folder that holds one of ours may be written again
TABLE_START = b"time_s,"  # and so may a table that starts like ours


def prepare_folder(folder: Path) -> None:
    """Make the folder if need be and prove that it can be written.

    Raises OutputError in one line if it cannot.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        raise _refusal(folder, error) from error


@contextmanager
def whole_file(target: Path, *, draft: Path | None = None, durable: bool = False) -> Iterator[Path]:
    """A path to write a file to, which takes the place of ``target`` once the block is done.

    If anything goes wrong an earlier file stays as it was. ``draft`` is where the file is written
    meanwhile, on the same disk, for a caller that alone writes there; left out, it is a place beside
    ``target`` that nobody else uses. ``durable`` has it on the disk before it takes its place, so
    that a power cut leaves one of the two whole.

    Raises OSError if the place cannot be written.
    """
    with ExitStack() as cleaning:
        if draft is None:
            aside = tempfile.TemporaryDirectory(prefix=_prefix(target), dir=target.parent)
            draft = Path(cleaning.enter_context(aside)) / target.name
        yield draft
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
def whole_folder(target: Path) -> Iterator[Path]:
    """A new folder beside ``target`` to write into, which takes its place once the block is done.

    An earlier result there is replaced; files in it that formcheck does not make are kept. If
    anything goes wrong the earlier result stays as it was and nothing half-written is left.

    Raises
    ------
    OutputError
        The place cannot be written, or holds something that formcheck did not make.
    """
    _refuse_foreign(target)
    prepare_folder(target.parent)
    try:
        fresh = Path(tempfile.mkdtemp(prefix=_prefix(target), dir=target.parent))
    except OSError as error:
        raise _refusal(target, error) from error
    try:
        fresh.chmod(0o777 & ~_umask())
        yield fresh
        _take_place(fresh, target)
    except OSError as error:
        raise _refusal(target, error) from error
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


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
        raise _refusal(target, error) from error


def refuse_table(target: Path) -> None:
    """Raise OutputError where a table of measures must not be put: only another makes way for it."""
    if target.suffix.lower() != ".csv":
        raise OutputError(f"--out {target}: a table of measures must end in .csv")
    try:
        there = target.exists()
        ours = there and target.is_file() and _starts_as_table(target)
    except OSError as error:
        raise _refusal(target, error) from error
    if there and not ours:
        raise OutputError(
            f"{target} is already there and is not a table of measures that formcheck made; "
            "nothing was written. Choose another name with --out."
        )


def _starts_as_table(path: Path) -> bool:
    with path.open("rb") as file:
        return file.read(len(TABLE_START)) == TABLE_START


def _take_place(fresh: Path, target: Path) -> None:
    if not target.exists():
        fresh.rename(target)
        return
    _keep_foreign(target, fresh)
    old = Path(tempfile.mkdtemp(prefix=_prefix(target), dir=target.parent))
    try:
        target.rename(old / "earlier")
        try:
            fresh.rename(target)
        except OSError:
            (old / "earlier").rename(target)
            raise
    finally:
        shutil.rmtree(old, ignore_errors=True)


def _refuse_foreign(target: Path) -> None:
    try:
        if not target.exists():
            return
        ours = target.is_dir() and (
            _is_result(target / MARKER)
            or all(entry.name in OUTPUT_NAMES for entry in target.iterdir())  # or empty
        )
    except OSError as error:
        raise _refusal(target, error) from error
    if not ours:
        raise OutputError(
            f"{target} is already there and is not a result that formcheck made; "
            "nothing was written. Choose another folder with --out."
        )


def _is_result(path: Path) -> bool:
    try:
        content = json.loads(path.read_text("utf-8"))
    except (OSError, ValueError):
        return False
    return isinstance(content, dict) and {"schema", "provenance"} <= set(content)


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
        MARKER,
        "sheet.html",
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


def _prefix(target: Path) -> str:
    return f".{target.name[:100]}."


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _refusal(folder: Path, error: OSError) -> OutputError:
    why = error.strerror or str(error)
    return OutputError(
        f"{folder} cannot be written: {why}. Choose another folder with --out, or free this one."
    )
