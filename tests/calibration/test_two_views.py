"""The report of two phones: errors beside each phone alone, and what became of every set."""

from collections import Counter

import numpy as np
import pytest

from models.calibration.two_views import Reading, report


def reading(first, second, both, sd=5.0):
    true = np.full(10, 90.0)
    return Reading(
        "elbow_flexion", true, (true + first, true + second), true + both, np.full(10, sd)
    )


def test_errors_are_means_over_arms_and_the_better_phone_is_each_arms_own():
    found = report([reading(2, -8, 4), reading(-6, 4, -2)], Counter({"joined by the movement": 2}))
    (row,) = [line for line in found.splitlines() if line.startswith("| elbow")]
    cells = [cell.strip() for cell in row.split("|")][2:-1]
    assert cells == ["2", "4.0", "6.0", "3.0", "3.0", "+1.0", "5.0", "100"]
    assert "joined by the movement 2" in found


def test_angles_are_compared_the_short_way_round():
    true = np.full(5, 175.0)
    one = Reading("plane_of_elevation", true, (true, true), np.full(5, -175.0), np.full(5, 4.0))
    assert one.errors[2] == pytest.approx(np.full(5, 10.0))


def test_a_truth_beyond_two_uncertainties_is_counted_out():
    found = report([reading(0, 0, 11)], Counter())
    assert found.rstrip().endswith("| 0 |")
