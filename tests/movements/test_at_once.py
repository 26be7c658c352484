"""What both arms do at once counts once; what they do in turn counts for each."""

from dataclasses import replace

import pytest

from formcheck.catalogue.codes import ReasonCode
from formcheck.catalogue.quantity import Quantity
from formcheck.movements.at_once import joined
from formcheck.movements.types import Rep


def rep(side, start_s, duration_s=4.0, *, partial=False, hold_s=None, **options):
    measures = {} if hold_s is None else {"hold": Quantity(hold_s, 0.2, "s")}
    end_s = start_s + duration_s
    times = (start_s, start_s + 1, end_s - 1, end_s)
    return Rep(0, "rep", side, partial, *times, hold_s=hold_s, measures=measures, **options)


def mirrored(found):
    return [
        "both" if one.side == "both" else {"left": "right", "right": "left"}[one.side]
        for one in found
    ]


@pytest.mark.parametrize("late_s", [0.0, 0.5, 1.5])
def test_arms_that_move_together_make_one_repetition_of_both(late_s):
    found = joined(
        [rep("left", 1.0), rep("right", 1.0 + late_s), rep("left", 7.0), rep("right", 7.0 + late_s)]
    )
    assert [one.side for one in found] == ["both", "both"]
    assert (found[0].start_s, found[0].end_s) == (1.0, 5.0 + late_s)
    assert [arm.side for arm in found[0].arms] == ["left", "right"]


@pytest.mark.parametrize("late_s", [3.0, 4.0, 6.0])
def test_arms_in_turn_stay_apart(late_s):
    turn = [rep("right", 1.0), rep("left", 1.0 + late_s)]
    assert [one.side for one in joined(turn)] == ["right", "left"]


def test_it_does_not_matter_which_arm_is_first():
    ahead = joined([rep("left", 1.0), rep("right", 1.5), rep("right", 9.0)])
    behind = joined([rep("right", 1.0), rep("left", 1.5), rep("left", 9.0)])
    assert [one.side for one in ahead] == mirrored(behind) == ["both", "right"]
    assert [one.start_s for one in ahead] == [one.start_s for one in behind]


def test_a_hold_of_both_lasts_as_long_as_both_hold():
    (hold,) = joined([rep("left", 1.0, hold_s=5.0), rep("right", 1.0, hold_s=3.0)])
    assert hold.hold_s == hold.measures["hold"].value == 3.0


def test_what_one_arm_did_whole_is_whole():
    (one,) = joined([rep("left", 1.0, partial=True), rep("right", 1.0)])
    assert not one.partial
    (cut,) = joined([rep("left", 1.0, partial=True), rep("right", 1.0, partial=True)])
    assert cut.partial


def test_circles_that_go_opposite_ways_are_two():
    found = joined([rep("left", 1.0, direction="forward"), rep("right", 1.0, direction="backward")])
    assert sorted(one.side for one in found) == ["left", "right"]


def test_an_arm_that_only_rests_does_not_join_in():
    lifts = rep("left", 1.0)
    rests = replace(rep("right", 1.0, partial=True), measures={}, reason=ReasonCode.ONLY_RESTED)
    assert joined([lifts, rests]) == [lifts, rests]
