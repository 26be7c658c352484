"""Locks on single bytes of an open file, across processes and machines.

The system lets go of a lock when its process ends, however it ends, so none is ever stale. Within one
process a byte can be locked many times, and closing any handle of the file gives its locks up.
"""

import errno
import os
import sys

TAKEN = (errno.EACCES, errno.EAGAIN, errno.EDEADLK)
"""What the system says of a byte that another process has locked; another error says that it has no
locks there."""

if sys.platform == "win32":
    import msvcrt

    def lock(handle: int, offset: int = 0) -> None:
        """Lock a byte. Raises OSError, with one of TAKEN where another process has it."""
        os.lseek(handle, offset, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)

    def unlock(handle: int, offset: int = 0) -> None:
        """Give a byte up."""
        os.lseek(handle, offset, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)
else:
    import fcntl

    def lock(handle: int, offset: int = 0) -> None:
        """Lock a byte. Raises OSError, with one of TAKEN where another process has it."""
        fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB, 1, offset)

    def unlock(handle: int, offset: int = 0) -> None:
        """Give a byte up."""
        fcntl.lockf(handle, fcntl.LOCK_UN, 1, offset)
