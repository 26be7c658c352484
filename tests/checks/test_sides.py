"""Both sides and alternating sides in one clip are counted apart."""

import numpy as np
import pytest

from formcheck.checks.dose import count_dose
from formcheck.checks.judge import judge_reps
from formcheck.checks.result import DirectionCount, RepCount
from formcheck.exercises.library import load_exercise
from formcheck.measures.measure import measure_track
from formcheck.movements.segment import find_reps, working_sides
from tests.synthetic import Arm, constant, cycles, make_track
from tests.synthetic_sets import ROUND, circling, press_cycle

pytestmark = pytest.mark.slow


def raises(starts):
    return Arm(
        elevation=cycles(starts, 8, 110, up_s=1.5, top_s=0.5, down_s=1.5), plane=constant(35.0)
    )


def counted(exercise, duration_s, **arms):
    table = measure_track(make_track(duration_s=duration_s, **arms))
    sides = working_sides(table, exercise)
    reps = judge_reps(table, exercise, find_reps(table, exercise, sides))
    return sides, reps, count_dose(exercise, reps, sides)


@pytest.mark.parametrize("count", [1, 4])
def test_alternating_sides_are_counted_apart_and_in_order_of_time(count):
    exercise = load_exercise("scaption-raise")
    right = [1.5 + 8 * i for i in range(count)]
    left = [start + 4 for start in right]
    sides, reps, dose = counted(exercise, 8 * count + 3, right=raises(right), left=raises(left))
    assert sides == ("left", "right")
    assert [judged.rep.side for judged in reps] == ["right", "left"] * count
    assert dose.counted.by_side == {"left": RepCount(count), "right": RepCount(count)}


def test_one_side_doing_less_than_the_other_is_seen_in_the_dose():
    exercise = load_exercise("scaption-raise")
    exercise = exercise.model_copy(update={"dose": exercise.dose.model_copy(update={"count": 3})})
    _, _, dose = counted(exercise, 30, right=raises([1.5, 9.5, 17.5]), left=raises([5.5, 13.5]))
    assert dose.counted.by_side == {"left": RepCount(2), "right": RepCount(3)}
    assert dose.met is False


def test_rounds_of_both_sides_one_after_the_other_are_counted_apart():
    exercise = load_exercise("press-and-hold-cycle")
    right, half_s, _ = press_cycle(ROUND, hold_s=6)
    late, _, _ = press_cycle(ROUND, hold_s=6)
    left = Arm(
        *(
            lambda t, curve=curve: curve(t - half_s)
            for curve in (late.elevation, late.plane, late.rotation, late.elbow)
        )
    )
    sides, _, dose = counted(exercise, 2 * half_s, right=right, left=left, yaw_deg=20)
    assert sides == ("left", "right")
    assert [count.whole for count in dose.counted.by_rounds] == [1, 1]


def test_circles_of_both_sides_and_both_ways_are_counted_apart():
    exercise = load_exercise("bent-elbow-circle")
    right, half_s, _ = circling([3, -2])
    late, other_s, _ = circling([2, -4])
    left = Arm(
        *(
            lambda t, curve=curve: curve(np.maximum(t - half_s, 0))
            for curve in (late.elevation, late.plane, late.rotation, late.elbow)
        )
    )
    sides, _, dose = counted(exercise, half_s + other_s, right=right, left=left, yaw_deg=20)
    assert sides == ("left", "right")
    assert dose.counted.by_side["right"] == DirectionCount(forward=2, backward=3)
    assert dose.counted.by_side["left"] == DirectionCount(forward=4, backward=2)


def test_both_arms_at_once_are_one_repetition_with_findings_for_each():
    exercise = load_exercise("scaption-raise")
    starts = [1.5 + 5 * i for i in range(4)]
    low = Arm(
        elevation=cycles(starts, 8, 60, up_s=1.5, top_s=0.5, down_s=1.5), plane=constant(35.0)
    )
    sides, reps, dose = counted(exercise, 22, right=raises(starts), left=low)
    assert sides == ("left", "right")
    assert [judged.rep.side for judged in reps] == ["both"] * 4
    assert dose.counted.count == 4
    assert dose.counted.by_side == {"both": RepCount(4)}
    height = {f.side: f.verdict for f in reps[0].findings if f.id == "height"}
    assert height == {"left": "outside", "right": "within"}
    assert [f.side for f in reps[0].findings if f.id == "lean"] == [None]


def test_two_sets_in_one_clip_are_counted_set_by_set():
    exercise = load_exercise("scaption-raise")
    exercise = exercise.model_copy(update={"dose": exercise.dose.model_copy(update={"count": 3})})
    starts = [1.5, 5.5, 9.5, 21.5, 25.5]
    _, reps, dose = counted(exercise, 31, right=raises(starts))
    assert [judged.rep.set for judged in reps] == [1, 1, 1, 2, 2]
    assert dose.counted.by_set == ({"right": RepCount(3)}, {"right": RepCount(2)})
    assert (dose.counted.sets_done, dose.met) == (1, False)
