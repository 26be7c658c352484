"""Some of the odd surroundings that ``python -m tests.faults.surroundings`` tries, the quick ones."""

import sys

import pytest

from tests.faults.surroundings import SURROUNDINGS, endure
from tests.faults.workplace import Workplace

QUICK = (
    "output that ends early",
    "a full disk behind the output",
    "output that ends at once",
    "all closed",
    "40 columns",
    "a generous umask",
    "a name that is not text",
    "a name that turns the line",
)


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    place = Workplace(tmp_path_factory.mktemp("faults") / "place")
    place.add_clip("set.mp4")
    return place


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="a shell, and the odd places of Linux")
@pytest.mark.parametrize("name", QUICK)
def test_the_command_keeps_its_promises(place, name):
    place.forget_results()
    endure(place, SURROUNDINGS[name])
