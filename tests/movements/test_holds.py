"""The time of a hold is that in which the whole arm keeps still."""

import pytest

from formcheck.exercises.library import load_exercise
from formcheck.measures.measure import measure_track
from formcheck.movements.segment import find_reps
from tests.synthetic import Arm, make_track, through
from tests.synthetic_sets import POSES

HOLD_S, MOVE_S = 6.0, 1.4


def holds_of(name, arm, *, side="right", rate_hz=30.0, yaw_deg=0.0):
    track = make_track(duration_s=12, rate_hz=rate_hz, yaw_deg=yaw_deg, **{side: arm})
    return find_reps(measure_track(track), load_exercise(name), (side,))


def held(pose, *, lead_s=1.5) -> Arm:
    stops = [(0.0, None), (lead_s, None), (lead_s + MOVE_S, pose)]
    stops += [(lead_s + MOVE_S + HOLD_S, pose), (lead_s + 2 * MOVE_S + HOLD_S, None)]
    return through(stops)


@pytest.mark.parametrize(
    ("name", "place"), [("bear-hug-press", "bear-hug"), ("belly-press", "belly")]
)
def test_a_hold_is_timed_though_the_hand_is_at_its_height_before_the_arm_is_in_place(name, place):
    (hold,) = holds_of(name, held(POSES[place]), yaw_deg=45)
    assert hold.hold_s == pytest.approx(HOLD_S, abs=0.2)
    assert hold.top_start_s == pytest.approx(1.5 + MOVE_S, abs=0.15)
    assert hold.top_end_s == pytest.approx(1.5 + MOVE_S + HOLD_S, abs=0.15)


def test_the_other_arm_a_later_start_and_another_frame_rate_change_no_hold():
    arm = held(POSES["bear-hug"])
    (usual,) = holds_of("bear-hug-press", arm)
    (mirrored,) = holds_of("bear-hug-press", arm, side="left")
    (later,) = holds_of("bear-hug-press", held(POSES["bear-hug"], lead_s=2.0))
    (finer,) = holds_of("bear-hug-press", arm, rate_hz=60.0)
    assert mirrored.hold_s == pytest.approx(usual.hold_s, abs=0.04)
    assert later.hold_s == pytest.approx(usual.hold_s, abs=0.04)
    assert later.top_start_s == pytest.approx(usual.top_start_s + 0.5, abs=0.04)
    assert finer.hold_s == pytest.approx(usual.hold_s, abs=0.1)
