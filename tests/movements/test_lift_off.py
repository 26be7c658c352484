"""A lift-off is counted from the hand on the back: getting there, or sliding along it, is no lift."""

import pytest

from formcheck.catalogue.codes import ReasonCode
from formcheck.checks.judge import judge_reps
from formcheck.exercises.library import load_exercise
from formcheck.measures.measure import measure_track
from formcheck.movements.segment import find_reps
from tests.synthetic import make_track, through
from tests.synthetic_sets import pose

ON_THE_BACK = pose(32, -48, 104, 92)  # the wrist is 19 cm behind the shoulder,
LIFTED = pose(34, -48, 126, 96)  # 26 cm behind it,
SLID_UP = pose(34, -48, 110, 112)  # 18 cm behind it and 9 cm higher than on the back
HOLD_S, MOVE_S = 5.0, 0.9


def lifts(places, *, yaw_deg=180.0, side="right", lead_s=1.5, rate_hz=30.0):
    """What is found of an arm that goes from hanging through these places and back."""
    stops, at_s = [(0.0, None), (lead_s, None)], lead_s
    for place in (*places, None):
        at_s += 1.6 if place is None or stops[-1][1] is None else MOVE_S
        stops.append((at_s, place))
        at_s += HOLD_S if place is LIFTED or place is SLID_UP else 1.0
        stops.append((at_s, place))
    arm = through(stops)
    yaw_deg = yaw_deg if side == "right" else -yaw_deg
    track = make_track(duration_s=at_s, yaw_deg=yaw_deg, rate_hz=rate_hz, **{side: arm})
    table = measure_track(track)
    exercise = load_exercise("lift-off")
    return judge_reps(table, exercise, find_reps(table, exercise, (side,)))


THREE = [ON_THE_BACK, *[LIFTED, ON_THE_BACK] * 3]


@pytest.mark.parametrize("yaw_deg", [180, 135, 90])
def test_three_lifts_off_the_back_are_counted_and_timed(yaw_deg):
    found = lifts(THREE, yaw_deg=yaw_deg)
    assert [judged.rep.partial for judged in found] == [False] * 3
    for judged in found:
        assert judged.rep.hold_s == pytest.approx(HOLD_S, abs=0.35)
        (lift,) = [one for one in judged.findings if one.id == "lift"]
        assert lift.value == pytest.approx(7.5, abs=2.5)
        assert lift.verdict == "within"


@pytest.mark.parametrize("yaw_deg", [180, 90])
def test_a_hand_that_only_rests_on_the_back_is_not_lifted(yaw_deg):
    found = lifts([ON_THE_BACK, None, ON_THE_BACK], yaw_deg=yaw_deg)
    assert found
    assert all(judged.rep.partial for judged in found)
    assert {judged.rep.reason for judged in found} == {ReasonCode.ONLY_RESTED}
    assert all(judged.score is None for judged in found)


@pytest.mark.parametrize("yaw_deg", [180, 90])
def test_a_hand_that_slides_up_the_spine_is_not_lifted(yaw_deg):
    found = lifts([ON_THE_BACK, SLID_UP, ON_THE_BACK, SLID_UP, ON_THE_BACK], yaw_deg=yaw_deg)
    assert [judged for judged in found if not judged.rep.partial] == []


def test_a_hand_that_was_not_seen_to_rest_on_the_back_first_is_not_counted():
    found = lifts([LIFTED])
    assert [judged for judged in found if not judged.rep.partial] == []


def test_lifts_from_a_side_that_does_not_show_them_are_not_counted():
    assert [judged for judged in lifts(THREE, yaw_deg=155) if not judged.rep.partial] == []


def test_the_other_arm_another_time_and_another_frame_rate_change_no_lift():
    usual = [judged.rep for judged in lifts(THREE)]
    left = [judged.rep for judged in lifts(THREE, side="left")]
    later = [judged.rep for judged in lifts(THREE, lead_s=2.5)]
    finer = [judged.rep for judged in lifts(THREE, rate_hz=60.0)]
    assert [rep.start_s for rep in left] == pytest.approx([rep.start_s for rep in usual], abs=0.05)
    assert [r.start_s - 1 for r in later] == pytest.approx([r.start_s for r in usual], abs=0.05)
    assert [r.start_s for r in finer] == pytest.approx([r.start_s for r in usual], abs=0.15)
