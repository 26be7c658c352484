"""A few of the kills that ``python -m tests.faults.kills`` does by the dozen."""

import os
import signal

import pytest

from tests.faults.kills import TRIALS
from tests.faults.workplace import Workplace

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(os.name != "posix", reason="signals of POSIX"),
]


@pytest.mark.parametrize(
    ("what", "kind", "times"),
    [("check", "KILL", 2), ("check", "TERM", 1), ("check", "HUP", 1), ("batch", "KILL", 2)],
)
def test_nothing_is_lost_and_nothing_hidden_stays(tmp_path, what, kind, times):
    TRIALS[what](Workplace(tmp_path / "place"), times, signal.Signals[f"SIG{kind}"])
