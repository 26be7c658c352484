import ctypes

import pytest

from formcheck.heap import hand_back, keep_one_heap


class Library:
    def __init__(self):
        self.asked = []

    def mallopt(self, what, value):
        self.asked.append((what, value))

    def malloc_trim(self, left):
        self.asked.append(left)


def test_the_c_library_is_asked_for_one_heap_and_for_what_is_freed(monkeypatch):
    library = Library()
    monkeypatch.setattr(ctypes, "CDLL", lambda _: library)
    keep_one_heap()
    hand_back()
    assert library.asked == [(-8, 1), 0]


@pytest.mark.parametrize("error", [OSError, AttributeError, TypeError])
def test_another_c_library_is_left_alone(monkeypatch, error):
    def without(_):
        raise error

    monkeypatch.setattr(ctypes, "CDLL", without)
    keep_one_heap()
    hand_back()
