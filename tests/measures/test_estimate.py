"""How what geometry reads and what the learned estimate reads become one measure."""

import numpy as np
import pytest

from formcheck.measures.estimate import arm_estimate
from formcheck.measures.learned import LearnedArm
from formcheck.measures.table import Series


def series(value, sd):
    return Series(np.array([float(value)]), np.array([float(sd)]))


def elbow(geometric, learned):
    other = {"shoulder_elevation": series(60, 5)}
    names = ("plane_of_elevation", "axial_rotation")
    other |= {name: series(30, 5) for name in names}
    empty = np.full((1, 3), np.nan)
    arm = LearnedArm(other | {"elbow_flexion": learned}, empty, empty, np.zeros(1))
    read = arm_estimate(other | {"elbow_flexion": geometric}, arm)["elbow_flexion"]
    return read.value[0], read.sd[0]


def turned(elevation_geometric, elevation_learned, bend_geometric=90, bend_learned=90):
    """Plane and rotation of an arm whose elevation and bend are read so by either."""
    same = {name: series(30, 5) for name in ("plane_of_elevation", "axial_rotation")}
    geometric, learned = (
        same | {"shoulder_elevation": series(elevation, 5), "elbow_flexion": series(bend, 5)}
        for elevation, bend in (
            (elevation_geometric, bend_geometric),
            (elevation_learned, bend_learned),
        )
    )
    empty = np.full((1, 3), np.nan)
    read = arm_estimate(geometric, LearnedArm(learned, empty, empty, np.zeros(1)))
    return [bool(np.isfinite(read[name].value[0])) for name in same]


def test_where_the_plane_and_the_rotation_mean_nothing_is_told_by_the_better_reading():
    assert turned(25, 60) == [True, True]
    assert turned(60, 25) == [False, True]
    assert turned(60, 60, bend_geometric=10, bend_learned=40) == [True, True]
    assert turned(60, 60, bend_geometric=40, bend_learned=10) == [True, False]


def test_the_learned_angle_counts_where_it_is_known():
    assert elbow(series(90, 30), series(90, 8)) == (90, 8)
    assert elbow(series(100, 30), series(90, 8))[0] == 90


def test_geometry_stays_where_the_learned_estimate_is_silent():
    assert elbow(series(100, 30), series(np.nan, np.nan)) == (100, 30)


def test_nothing_is_told_of_what_geometry_knows_to_be_out_of_view():
    assert np.isnan(elbow(series(np.nan, np.nan), series(90, 8))).all()


def test_a_learned_angle_is_doubted_the_more_the_further_geometry_is_from_it():
    doubts = [elbow(series(90 - apart, 8), series(90, 8))[1] for apart in (0, 10, 40, 70)]
    assert doubts == pytest.approx([np.hypot(8, gap / 2) for gap in (0, 10, 40, 70)])


def test_geometry_that_hardly_sees_an_angle_says_little_against_the_learned_one():
    doubts = [elbow(series(50, sd), series(90, 8))[1] for sd in (4, 8, 16, 60)]
    assert doubts == sorted(doubts, reverse=True)
    assert doubts[-1] == pytest.approx(8, abs=0.1)
