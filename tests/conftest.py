"""Every test is fast unless it is marked ``slow`` or ``browser``: ``pytest -m fast`` while working."""

import os

import pytest

# Set before numpy is imported. On a busy machine, threads that wait for each other cost ten times
# what the networks need.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if not any(item.get_closest_marker(name) for name in ("slow", "browser")):
            item.add_marker(pytest.mark.fast)
