"""Compound sets: parts named, timed and put in rounds; what is left out is named."""

from dataclasses import replace

import pytest

from formcheck.checks.judge import judge_reps
from formcheck.exercises.library import load_exercise
from formcheck.measures.measure import measure_track
from formcheck.movements.rounds import rounds_of
from formcheck.movements.segment import find_reps
from tests.synthetic import make_track, through
from tests.synthetic_sets import HOLD_S, MOVE_S, POSES, ROUND, pose, press_cycle

pytestmark = pytest.mark.slow


def parts_of(parts, *, yaw=45.0, side="right", **options):
    arm, duration, holds = press_cycle(parts, **options)
    table = measure_track(make_track(duration_s=duration, yaw_deg=yaw, **{side: arm}))
    exercise = load_exercise("press-and-hold-cycle")
    return exercise, find_reps(table, exercise, (side,)), holds


@pytest.mark.parametrize("yaw", [0, 20, 45, 90, 180])
def test_two_rounds_of_three_positions_are_named_and_timed(yaw):
    exercise, reps, holds = parts_of(ROUND * 2, yaw=yaw)
    assert [rep.part for rep in reps] == ROUND * 2
    assert not any(rep.partial for rep in reps)
    assert [one.missing for one in rounds_of(exercise, reps)] == [(), ()]
    for rep, (start_s, end_s) in zip(reps, holds, strict=True):
        assert rep.top_start_s == pytest.approx(start_s, abs=0.2)
        assert rep.top_end_s == pytest.approx(end_s, abs=0.2)
        assert rep.hold_s == pytest.approx(HOLD_S, abs=0.3)


@pytest.mark.parametrize("hang_between", [True, False])
@pytest.mark.parametrize(
    ("parts", "missing"),
    [
        (["belly", "bear-hug", "low-back", "belly", "low-back"], [(), ("bear-hug",)]),
        (["bear-hug", "low-back", "belly", "bear-hug", "low-back"], [("belly",), ()]),
        (["belly", "bear-hug", "belly", "bear-hug", "low-back"], [("low-back",), ()]),
        (["belly", "low-back", "bear-hug", "low-back"], [("bear-hug",), ("belly",)]),
    ],
)
def test_a_part_left_out_is_named_in_its_round(parts, missing, hang_between):
    exercise, reps, _ = parts_of(parts, hang_between=hang_between)
    assert [rep.part for rep in reps] == parts
    rounds = rounds_of(exercise, reps)
    assert [one.missing for one in rounds] == missing
    assert all(one.certain and one.in_order for one in rounds)


def test_another_order_is_one_round_out_of_order_and_not_three():
    exercise, reps, _ = parts_of(["bear-hug", "belly", "low-back"])
    (one,) = rounds_of(exercise, reps)
    assert one.missing == ()
    assert not one.in_order


def test_the_left_arm_is_read_like_the_right():
    _, reps, _ = parts_of(ROUND, side="left", yaw=-45)
    assert [rep.part for rep in reps] == ROUND


def test_hanging_is_no_part_and_no_hold():
    _, reps, _ = parts_of(["belly"])
    assert [rep.part for rep in reps] == ["belly"]


def test_a_hold_of_no_known_place_makes_what_is_missing_uncertain():
    exercise, reps, _ = parts_of(["belly", "overhead", "low-back"])
    assert [(rep.part, rep.partial) for rep in reps][1] == (None, True)
    (one,) = rounds_of(exercise, reps)
    assert one.missing == ("bear-hug",)
    assert not one.certain


def test_short_and_long_holds_keep_their_times():
    for hold_s in (2.0, 15.0):
        _, reps, _ = parts_of(ROUND, hold_s=hold_s)
        assert [rep.hold_s for rep in reps] == pytest.approx([hold_s] * 3, abs=0.4)


@pytest.mark.parametrize("rounds", [3, 4])
def test_many_rounds_are_counted(rounds):
    exercise, reps, _ = parts_of(ROUND * rounds)
    assert [rep.part for rep in reps] == ROUND * rounds
    assert [one.missing for one in rounds_of(exercise, reps)] == [()] * rounds


def names_of(seconds):
    """What is found of an arm that stays in each place for so long, with the holds' rounds."""
    stops, t = [(0.0, None), (1.5, None)], 1.5
    for place, stay_s in seconds:
        t += MOVE_S
        stops += [(t, POSES.get(place)), *([(t + stay_s, POSES.get(place))] if stay_s else [])]
        t += stay_s
    t += MOVE_S
    arm = through([*stops, (t, None), (t + 2, None)])
    table = measure_track(make_track(duration_s=t + 2, yaw_deg=45, right=arm))
    exercise = load_exercise("press-and-hold-cycle")
    reps = find_reps(table, exercise, ("right",))
    return [rep.part for rep in reps], rounds_of(exercise, reps)


@pytest.mark.parametrize("pause_s", [3.0, 10.0])
def test_pauses_between_rounds_change_nothing(pause_s):
    names, rounds = names_of([*((part, 4.0) for part in ROUND), ("hanging", pause_s)] * 3)
    assert names == ROUND * 3
    assert all(one.missing == () and one.in_order and one.certain for one in rounds)


@pytest.mark.parametrize("stay_s", [0.0, 0.2, 0.4])
@pytest.mark.parametrize(
    ("before", "passed", "after", "missing"),
    [
        (["belly"], "bear-hug", ["low-back"], ("bear-hug",)),
        (["belly", "bear-hug"], "belly", ["low-back"], ()),
    ],
)
def test_a_place_only_passed_is_no_part(before, passed, after, missing, stay_s):
    held = [(part, 4.0) for part in before], [(part, 4.0) for part in after]
    names, rounds = names_of([*held[0], (passed, stay_s), *held[1]])
    assert names == before + after
    assert [one.missing for one in rounds] == [missing]


def test_a_short_stay_where_its_part_is_due_is_that_part_and_not_left_out():
    names, (one,) = names_of([("belly", 4.0), ("bear-hug", 0.8), ("low-back", 4.0)])
    assert names == ROUND
    assert one.missing == ()


def test_one_round_out_of_order_among_others_is_that_round_alone():
    order = [*ROUND, "bear-hug", "belly", "low-back", *ROUND]
    names, rounds = names_of([(part, 4.0) for part in order])
    assert names == order
    assert [(one.missing, one.in_order) for one in rounds] == [((), True), ((), False), ((), True)]


SWAPPED = ["low-back", "bear-hug", "belly"]


@pytest.mark.parametrize("yaw", [20, 45, 90])
def test_first_and_last_exchanged_is_noticed(yaw):
    exercise, reps, _ = parts_of(SWAPPED, yaw=yaw)
    assert [rep.part for rep in reps] == SWAPPED
    (one,) = rounds_of(exercise, reps)
    assert (one.missing, one.in_order, one.open_order) == ((), False, ())


@pytest.mark.parametrize("yaw", [0, 135, 180])
@pytest.mark.parametrize("hang_between", [True, False])
def test_an_exchange_that_cannot_be_told_is_not_called_in_order(yaw, hang_between):
    exercise, reps, _ = parts_of(SWAPPED, yaw=yaw, hang_between=hang_between)
    (one,) = rounds_of(exercise, reps)
    assert not one.in_order or one.open_order == ("belly", "low-back")


@pytest.mark.parametrize("yaw", [0, 20, 45, 90])
def test_the_order_asked_for_is_told_where_it_can_be_seen(yaw):
    exercise, reps, _ = parts_of(ROUND * 2, yaw=yaw)
    assert [(one.in_order, one.open_order) for one in rounds_of(exercise, reps)] == [(True, ())] * 2


def alike(reps, part, other):
    """The same repetitions, of which those of two parts fit each other's place as well."""
    names = [one.name for one in load_exercise("press-and-hold-cycle").parts]
    both = {names.index(part), names.index(other)}
    return [
        replace(
            rep,
            place_distances=tuple(
                0.5 if k in both else distance for k, distance in enumerate(rep.place_distances)
            ),
        )
        if rep.part in (part, other)
        else rep
        for rep in reps
    ]


def test_what_fits_two_parts_leaves_their_order_open_and_no_other():
    exercise, reps, _ = parts_of(ROUND)
    (one,) = rounds_of(exercise, alike(reps, "belly", "low-back"))
    assert one.open_order == ("belly", "low-back")
    (one,) = rounds_of(exercise, alike(reps, "belly", "bear-hug"))
    assert one.open_order == ("belly", "bear-hug")


def test_a_lone_hold_that_fits_two_parts_leaves_open_which_one_is_missing():
    exercise, reps, _ = parts_of(["belly"])
    assert rounds_of(exercise, reps)[0].certain
    (one,) = rounds_of(exercise, alike(reps, "belly", "low-back"))
    assert one.missing == ("bear-hug", "low-back")
    assert not one.certain


ON_THE_BACK = pose(32, -48, 104, 92)
"""The hand rests on the low back; at POSES["low-back"] it is 6 cm behind that."""


def low_back(places, yaw_deg):
    """What is judged of the low-back part, after the other two, that goes through these places."""
    stops, at_s = [(0.0, None), (1.5, None)], 1.5
    for place, stay_s in [
        (POSES["belly"], 4),
        (None, 1),
        (POSES["bear-hug"], 4),
        (None, 1),
        *places,
    ]:
        at_s += MOVE_S
        stops += [(at_s, place), (at_s + stay_s, place)]
        at_s += stay_s
    arm = through([*stops, (at_s + MOVE_S, None), (at_s + 3, None)])
    table = measure_track(make_track(duration_s=at_s + 3, yaw_deg=yaw_deg, right=arm))
    exercise = load_exercise("press-and-hold-cycle")
    reps = judge_reps(table, exercise, find_reps(table, exercise, ("right",)))
    (found,) = [one for one in reps if one.rep.part == "low-back" and not one.rep.partial]
    (lift,) = [one for one in found.findings if one.id == "lift"]
    return found.rep, lift


@pytest.mark.parametrize("yaw_deg", [180, 90])
def test_a_lift_from_the_back_is_measured_by_how_far_the_hand_leaves_it(yaw_deg):
    lifted = [(ON_THE_BACK, 1.5), (POSES["low-back"], 5.0), (ON_THE_BACK, 1.5)]
    rep, lift = low_back(lifted, yaw_deg)
    assert lift.value == pytest.approx(6, abs=2.5)
    assert rep.hold_s == pytest.approx(5, abs=0.4)


@pytest.mark.parametrize("yaw_deg", [180, 90])
def test_a_hand_that_came_to_the_back_and_stayed_is_not_called_lifted(yaw_deg):
    rep, lift = low_back([(ON_THE_BACK, 5.0)], yaw_deg)
    assert lift.verdict == "not-measurable"
    assert rep.hold_s == pytest.approx(5, abs=0.4)
