"""Who is at work on which result folder, across processes and machines.

A lock is on one byte of one file, and the system lets go of it when the process ends, however it
ends. So no lock is ever stale, and two batches on one folder share the work.
"""

import errno
import hashlib
import os
from pathlib import Path
from typing import Self

from formcheck import file_lock
from formcheck.atomic_output import refusal
from formcheck.batch.ledger import STATE


class FolderLocks:
    """The locks of this process in a results folder. One of these a process and folder.

    Where the file system has no locks every lock is granted; two batches may then do the same work
    twice, but results still appear whole.
    """

    def __init__(self, out: Path) -> None:
        try:
            (out / STATE).mkdir(parents=True, exist_ok=True)
            flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_CLOEXEC", 0)
            self._handle = os.open(out / STATE / "locks", flags, 0o666)
        except OSError as error:
            raise refusal(out, error) from error

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()

    def acquire(self, name: str) -> bool:
        """Lock the folder of that name; False if another process is at work on it."""
        try:
            file_lock.lock(self._handle, _offset(name))
        except OSError as error:
            return error.errno not in file_lock.TAKEN
        return True

    def release(self, name: str) -> None:
        """Give a lock up."""
        try:
            file_lock.unlock(self._handle, _offset(name))
        except OSError as error:
            if error.errno not in (errno.ENOLCK, errno.ENOTSUP, errno.EINVAL):
                raise

    def close(self) -> None:
        """Give all locks up."""
        os.close(self._handle)


def _offset(name: str) -> int:
    """A byte for each name, within what every system can lock.

    Two names may share one by chance; their clips are then checked one after the other.
    """
    return int.from_bytes(hashlib.sha256(name.encode("utf-8", "replace")).digest()[:4]) >> 1
