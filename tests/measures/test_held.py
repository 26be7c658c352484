"""An arm that keeps still is read as it was on the way in, however long it stays."""

from dataclasses import replace

import numpy as np
import pytest

from formcheck.measures.held import carried_on
from formcheck.measures.measure import measure_track
from formcheck.measures.posture import posture_from
from formcheck.measures.registry import arm_series
from formcheck.measures.table import Series
from tests.synthetic import Arm, constant, cycles, make_track

CAME_IN_S = 3.5


def held_for(hold_s, elevation=None):
    arm = Arm(
        elevation=elevation or cycles([2.0], 8, 80, up_s=CAME_IN_S - 2.0, top_s=hold_s, down_s=1.5),
        plane=constant(60.0),
        elbow=constant(40.0),
    )
    return make_track(right=arm, duration_s=CAME_IN_S + hold_s + 3)


def drifting(series, time_s):
    """What networks make of an arm whose movement is seconds away: they forget it."""
    forgot = 14.0 * np.clip((time_s - CAME_IN_S - 2) / 2, 0, 1)
    return Series(series.value + 5 + forgot, np.full(len(time_s), 6.0))


def carried(track, names=("elbow_flexion", "shoulder_elevation", "plane_of_elevation")):
    posture = posture_from(track)
    geometric = arm_series(posture, "right")
    arm = {name: drifting(geometric[name], posture.time_s) for name in names}
    return posture.time_s, geometric, carried_on(posture, "right", arm, geometric)


@pytest.mark.parametrize("hold_s", [5, 20, 60])
def test_a_hold_is_read_at_its_end_as_at_its_start(hold_s):
    time_s, geometric, arm = carried(held_for(hold_s))
    during = (time_s > CAME_IN_S) & (time_s < CAME_IN_S + hold_s - 0.5)
    for name, series in arm.items():
        off = series.value[during] - geometric[name].value[during]
        assert np.abs(off - 5.0).max() < 1.0, name
        assert series.sd[during].max() < 7.0, name


def test_an_arm_that_sinks_slowly_while_it_is_held_is_followed():
    sinking = lambda t: np.interp(t, [0, 2.0, CAME_IN_S, 33.5, 35.0], [8, 8, 80, 50, 8])  # noqa: E731
    time_s, geometric, arm = carried(held_for(30, sinking))
    at = np.argmin(np.abs(time_s - 33.0))
    truth = geometric["shoulder_elevation"].value
    assert arm["shoulder_elevation"].value[at] - truth[at] == pytest.approx(5.0, abs=1.5)
    assert arm["shoulder_elevation"].sd[at] > 1.2 * 6.0


def test_movement_and_short_rests_are_left_as_they_were_read():
    time_s, geometric, arm = carried(held_for(1.5))
    moving = (time_s > 1.9) & (time_s < CAME_IN_S + 3)
    read = drifting(geometric["elbow_flexion"], time_s)
    np.testing.assert_array_equal(arm["elbow_flexion"].value[moving], read.value[moving])


def test_an_arm_that_is_still_from_the_beginning_has_no_way_in():
    track = make_track(right=Arm(elevation=constant(60.0), plane=constant(40.0)))
    time_s, geometric, arm = carried(track)
    read = drifting(geometric["shoulder_elevation"], time_s)
    np.testing.assert_array_equal(arm["shoulder_elevation"].value, read.value)


def test_what_is_unknown_stays_unknown_while_an_arm_is_held():
    track = held_for(10)
    hidden = track.visibility.copy()
    hidden[(track.time_s > 8) & (track.time_s < 9)] = 0.0
    table = measure_track(replace(track, visibility=hidden))
    unknown = (table.time_s > 8.1) & (table.time_s < 8.9)
    assert not np.isfinite(table.series("elbow_flexion", "right").value[unknown]).any()
