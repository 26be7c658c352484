"""Folders in which something is being made, and what becomes of them when their process dies.

Each carries our name and a marker that the process at work keeps locked. Whatever carries both and is
not locked was left behind by a run that was killed, and is put right by the next that comes there.
"""

import os
import re
import shutil
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from formcheck import file_lock
from formcheck.errors import OutputError

MARKER = "in-work.txt"
EARLIER = "earlier"
"""Folder for an earlier result while its successor takes its place."""
_MARKED = b"formcheck makes something here; if it was killed, the next run removes this folder.\n"
_NAME = re.compile(r"\.?formcheck-[a-z0-9_]{8}")
_TRIES = 100
"""How often a folder may be taken for one that was left behind, while it is made. Mechanical."""

_ours: dict[Path, int] = {}
"""The folders that this process works in, with their locked markers."""
_guard = threading.RLock()
"""Locks of one process do not exclude each other, so its threads make and clear one at a time."""


@contextmanager
def scratch_folder(parent: Path | None = None) -> Iterator[Path]:
    """A folder to make something in, gone after the block: hidden in ``parent``, or a temporary one.

    What a killed run has left there before is put right first. Only the user may look into it. A
    result that is moved to EARLIER in it comes back unless another took its place. Raises OSError.
    """
    where = Path(tempfile.gettempdir()) if parent is None else parent
    recover(where)
    folder = _make(where, "formcheck-" if parent is None else ".formcheck-")
    try:
        yield folder
    finally:
        _end(folder)


@contextmanager
def typesetting_folder() -> Iterator[Path]:
    """A temporary folder that nothing but what is to be typeset goes into, gone after the block.

    Raises OutputError that names the folder for temporary files, of which nobody thinks otherwise.
    """
    try:
        with scratch_folder() as folder:
            yield folder
    except OSError as error:
        raise OutputError(
            f"{tempfile.gettempdir()}, the folder for temporary files, cannot be written: "
            f"{error.strerror or error}. Make room in it, or name another with the variable TMPDIR."
        ) from error


def place_outside(path: Path) -> Path:
    """Where people look for a path: of one in a scratch folder the folder that holds that."""
    for folder in (path, *path.parents):
        if _NAME.fullmatch(folder.name):
            return folder.parent
    return path


def recover(parent: Path) -> list[str]:
    """Put right what killed runs left in a folder: half-written things go, earlier results come back.

    What another process is at work in, and whatever is not ours, is left alone. Returns a line for
    each thing that was found.
    """
    found: list[str] = []
    try:
        with os.scandir(parent) as entries:
            ours = [
                Path(entry.path)
                for entry in entries
                if _NAME.fullmatch(entry.name) and entry.is_dir(follow_symlinks=False)
            ]
    except OSError:
        return found
    for folder in ours:
        with _guard, suppress(OSError):
            found += _recover(folder.absolute())
    return found


def end_all() -> None:
    """End all work of this process at once, for when it is stopped: nothing half-written stays."""
    for folder in list(_ours):
        _end(folder)


def _make(parent: Path, prefix: str) -> Path:
    for _ in range(_TRIES):
        folder = Path(tempfile.mkdtemp(prefix=prefix, dir=parent)).absolute()
        try:
            if _claim(folder):
                return folder
        except BaseException:  # a full disk, or told to stop
            _end(folder)
            raise
    raise FileExistsError(f"no folder can be made in {parent}")


def _claim(folder: Path) -> bool:
    """Mark a new folder as one that we work in; False if it was taken for one that was left behind."""
    with _guard:
        try:
            _ours[folder] = os.open(folder / MARKER, _FLAGS | os.O_CREAT | os.O_EXCL, 0o600)
        except FileNotFoundError:
            return False
        try:
            file_lock.lock(_ours[folder])
            taken = False
        except OSError as error:  # where there are no locks, nobody takes it either
            taken = error.errno in file_lock.TAKEN
        if taken or not (folder / MARKER).exists():
            os.close(_ours.pop(folder))
            return False
        os.write(_ours[folder], _MARKED)
        return True


_FLAGS = os.O_RDWR | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_NOFOLLOW", 0)


def _end(folder: Path) -> None:
    with _guard:
        _bring_back(folder)
        shutil.rmtree(folder, ignore_errors=True)
        if folder in _ours:
            os.close(_ours.pop(folder))
        shutil.rmtree(folder, ignore_errors=True)  # not every system removes an open file


def _recover(folder: Path) -> list[str]:
    if folder in _ours:
        return []
    try:
        handle = os.open(folder / MARKER, _FLAGS)
    except FileNotFoundError:
        folder.rmdir()  # made and not yet marked; with anything in it, it is not ours
        return [f"{folder}: an empty folder of a run that was killed; removed"]
    try:
        file_lock.lock(handle)  # fails where somebody is at work, or nobody can tell
        back = _bring_back(folder)
        shutil.rmtree(folder, ignore_errors=True)
    finally:
        os.close(handle)
    shutil.rmtree(folder, ignore_errors=True)
    if folder.exists():
        return [f"{folder}: left by a run that was killed and cannot be removed; delete it"]
    return [f"{name}: an earlier result; brought back" for name in back] or [
        f"{folder}: half-written by a run that was killed; removed"
    ]


def _bring_back(folder: Path) -> list[Path]:
    """Move what was being replaced to where it was, if nothing has taken its place; what came back."""
    back: list[Path] = []
    with suppress(OSError):
        for earlier in (folder / EARLIER).iterdir():
            target = folder.parent / earlier.name
            if not os.path.lexists(target):
                earlier.rename(target)
                back.append(target)
    return back
