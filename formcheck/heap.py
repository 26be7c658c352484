"""What is freed goes back to the machine: the allocator of most Linux systems keeps it for itself.

What one stage of a check has freed in many small pieces, such as a model or a decoder, would add up
with what the next needs.
"""

import ctypes
from contextlib import suppress

_ARENA_MAX = -8  # M_ARENA_MAX of <malloc.h>


def keep_one_heap() -> None:
    """Have all threads of this process share one heap: the end of another one is never given back.

    For a process of our own, before it starts threads. Does nothing without glibc.
    """
    with suppress(OSError, AttributeError, TypeError):
        ctypes.CDLL(None).mallopt(_ARENA_MAX, 1)


def hand_back() -> None:
    """Let the system have what is freed. Does nothing without glibc."""
    with suppress(OSError, AttributeError, TypeError):
        ctypes.CDLL(None).malloc_trim(0)
