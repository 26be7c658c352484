"""What the terminal says is what the sheets say."""

import pytest

from formcheck.cli.terminal import clock


@pytest.mark.parametrize(
    ("seconds", "told"),
    [(11.7, "0:11.7"), (0.9, "0:00.9"), (67.25, "1:07.2"), (15.3, "0:15.3"), (59.99, "0:59.9")],
)
def test_a_moment_is_told_as_on_the_sheets(seconds, told):
    assert clock(seconds) == told
