"""Circles: full turns counted per direction, whatever the view, side and pace."""

import numpy as np
import pytest

from formcheck.measures.arms import arm_path
from formcheck.measures.posture import posture_from
from formcheck.movements.circles import find_circles
from tests.synthetic import make_track
from tests.synthetic_sets import circling


def circles_of(turns, side="right", yaw=45.0, **kw):
    arm, duration, spans = circling(turns, **kw)
    track = make_track(duration_s=duration, yaw_deg=yaw, **{side: arm})
    posture = posture_from(track)
    return find_circles(posture.time_s, arm_path(posture, side)), spans


@pytest.mark.parametrize("yaw", [0, 20, 45, 70, 90, 180])
def test_turns_are_counted_per_direction_from_any_view(yaw):
    found, _ = circles_of([4, -3], yaw=yaw)
    whole = [c.direction for c in found if c.complete]
    assert whole == ["backward"] * 4 + ["forward"] * 3


def test_the_left_arm_is_counted_like_the_right():
    found, _ = circles_of([4, -3], side="left", yaw=-45)
    assert [c.direction for c in found if c.complete] == ["backward"] * 4 + ["forward"] * 3


def test_circles_begin_and_end_when_they_do():
    found, spans = circles_of([4, -4])
    assert found[0].start_s == pytest.approx(spans[0][0], abs=0.4)
    assert found[3].end_s == pytest.approx(spans[0][1], abs=0.4)
    assert found[4].start_s == pytest.approx(spans[1][0], abs=0.4)
    assert found[7].end_s == pytest.approx(spans[1][1], abs=0.4)


@pytest.mark.parametrize("turn_s", [1.0, 2.6, 6.0])
def test_pace_changes_no_count(turn_s):
    found, _ = circles_of([3, -3], turn_s=turn_s)
    assert len([c for c in found if c.complete]) == 6


def test_circles_out_to_the_side_seen_from_the_side():
    found, _ = circles_of([3, -2], centre=(80.0, 10.0), yaw=90)
    assert [c.direction for c in found if c.complete] == ["backward"] * 3 + ["forward"] * 2


def test_half_a_circle_is_partial():
    found, _ = circles_of([2.5])
    assert [c.complete for c in found] == [True, True, False]


def test_forward_is_toward_the_front_at_the_top():
    """At the top of a forward circle of an arm held out to the side the elbow moves ahead."""
    arm, duration, spans = circling([-2], centre=(85.0, 5.0))
    t = np.arange(round(duration * 30)) / 30
    elevation, plane = arm.elevation(t), arm.plane(t)
    inside = (t > spans[0][0]) & (t < spans[0][1])
    top = np.flatnonzero(inside)[np.argmax(elevation[inside])]
    assert plane[top + 1] > plane[top - 1]  # the truth of the motion itself
    found, _ = circles_of([-2], centre=(85.0, 5.0))
    assert all(c.direction == "forward" for c in found)


@pytest.mark.parametrize("turns", [3, -3, 2])
@pytest.mark.parametrize("turn_s", [1.0, 2.0, 4.0])
@pytest.mark.parametrize("yaw", [0, 90])
def test_the_way_up_from_rest_and_down_again_is_no_part_of_a_circle(turns, turn_s, yaw):
    """The arm goes straight from rest into the first circle, and straight down from the last."""
    found, ((start_s, end_s, _),) = circles_of(
        [turns], yaw=yaw, turn_s=turn_s, lead_s=2.5, rest_s=-0.3
    )
    assert [circle.complete for circle in found] == [True] * abs(turns)
    assert found[0].start_s == pytest.approx(start_s, abs=0.3)
    assert found[-1].end_s == pytest.approx(end_s, abs=0.3)


@pytest.mark.parametrize("turns", [3, -3])
def test_a_circle_begun_while_the_arm_still_comes_up_is_counted(turns):
    found, ((start_s, _, _),) = circles_of([turns], turn_s=4.0, lead_s=2.2)
    assert [circle.complete for circle in found] == [True] * 3
    assert found[0].start_s == pytest.approx(start_s, abs=0.3)


def test_half_a_circle_stays_half_though_the_way_up_runs_into_the_first():
    found, _ = circles_of([2.5], turn_s=4.0, lead_s=2.5)
    assert [circle.complete for circle in found] == [True, True, False]


def test_a_first_circle_larger_than_the_others_stays_whole():
    found, ((start_s, _, _),) = circles_of([3], turn_s=4.0, first_radius_deg=42.0)
    assert [circle.complete for circle in found] == [True] * 3
    assert found[0].start_s == pytest.approx(start_s, abs=0.4)
