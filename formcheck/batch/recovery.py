"""Recovery from what a killed run left behind in a results folder."""

import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

from formcheck.batch.locks import FolderLocks
from formcheck.batch.record import RECORD

_ASIDE_NAME = re.compile(r"\.(?P<name>.+)\.[a-z0-9_]{8}")
_EARLIER = "earlier"


def recover(out: Path, locks: FolderLocks) -> None:
    """Remove half-written folders and bring back earlier results that were being replaced.

    Folders that another process is at work on, and whatever a batch did not make, are left alone.
    """
    for name, folder in list(_hidden(out)):
        if locks.acquire(name):
            try:
                _recover(folder, out / name)
            finally:
                locks.release(name)


def _hidden(out: Path) -> Iterator[tuple[str, Path]]:
    with os.scandir(out) as entries:
        for entry in entries:
            match = _ASIDE_NAME.fullmatch(entry.name)
            if match and entry.is_dir(follow_symlinks=False):
                yield match["name"], Path(entry.path)


def _recover(folder: Path, target: Path) -> None:
    held = {path.name for path in folder.iterdir()}
    if held == {_EARLIER} and not target.exists():
        (folder / _EARLIER).rename(target)
        folder.rmdir()
    elif not held or RECORD in held or held == {_EARLIER}:
        shutil.rmtree(folder, ignore_errors=True)
