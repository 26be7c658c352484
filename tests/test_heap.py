"""Freed memory goes back to the system where the C library can be asked for it."""

import ctypes
import platform
import subprocess
import sys

import pytest

from formcheck.heap import hand_back, keep_one_heap

FREED = """
import ctypes
from pathlib import Path
from formcheck.heap import hand_back

def resident_kb():
    status = Path("/proc/self/status").read_text()
    return int(status.partition("VmRSS:")[2].split()[0])

library = ctypes.CDLL(None)
library.malloc.restype = ctypes.c_void_p
blocks = [ctypes.c_void_p(library.malloc(4000)) for _ in range(20_000)]
for block in blocks:
    ctypes.memset(block, 1, 4000)
for block in blocks[:-1]:  # the last one keeps the allocator from giving back the end of its heap
    library.free(block)
before = resident_kb()
hand_back()
print(before - resident_kb())
"""


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="only glibc can be asked")
def test_what_was_freed_goes_back_to_the_system():
    done = subprocess.run([sys.executable, "-c", FREED], capture_output=True, text=True, check=True)
    assert int(done.stdout) > 60_000  # of 80,000 KB freed


class Library:
    def __init__(self):
        self.asked = []

    def mallopt(self, what, value):
        self.asked.append((what, value))


def test_all_threads_are_kept_to_one_heap(monkeypatch):
    library = Library()
    monkeypatch.setattr(ctypes, "CDLL", lambda _: library)
    keep_one_heap()
    assert library.asked == [(-8, 1)]


@pytest.mark.parametrize("error", [OSError, AttributeError, TypeError])
def test_without_glibc_both_are_tried_and_let_be(monkeypatch, error):
    tried = []

    def without(name):
        tried.append(name)
        raise error

    monkeypatch.setattr(ctypes, "CDLL", without)
    keep_one_heap()
    hand_back()
    assert len(tried) == 2
