"""Which views can decide which checks of an exercise."""

import numpy as np
import pytest

from formcheck.catalogue.views import MeasuredView
from formcheck.exercises.library import library_names, load_exercise
from formcheck.filming.advice import better_view, decided_from_nowhere, pose_of, view_advice
from formcheck.filming.figure import ArmPose, seen_from
from formcheck.filming.observed_uncertainty import at_least_observed
from formcheck.measures.measure import measure_track


def of_view(name):
    return {one.view: one for one in view_advice(load_exercise(name))}


def undecided(name, view):
    return {check.id for check in of_view(name)[view].undecided}


@pytest.mark.slow
@pytest.mark.parametrize("name", library_names())
def test_every_exercise_can_be_judged_from_the_view_it_recommends(name):
    exercise = load_exercise(name)
    advice = view_advice(exercise)
    assert advice[0].view in exercise.filming.best
    assert advice[0].share >= 0.5
    assert {one.view for one in advice} == {"front", "oblique", "side", "back-oblique", "back"}


@pytest.mark.parametrize("name", library_names())
def test_every_check_can_be_decided_from_a_view_that_its_exercise_recommends(name):
    exercise = load_exercise(name)
    recommended = {*exercise.filming.best, *exercise.filming.usable}
    decided = [one.decided for one in view_advice(exercise) if one.view in recommended]
    for _, check in exercise.all_checks:
        assert any(check in checks for checks in decided), check.id


def test_a_check_finer_than_any_view_is_decided_from_nowhere():
    exercise = load_exercise("side-raise")
    fine = [
        check.model_copy(update={"low": 0, "high": 10, "tolerance": 5})
        if check.id == "plane"
        else check
        for check in exercise.checks
    ]
    finer = exercise.model_copy(update={"checks": tuple(fine)})
    assert [check.id for check in decided_from_nowhere(finer)] == ["plane"]
    assert decided_from_nowhere(exercise) == ()


def test_sagging_hips_are_decided_from_the_side_only():
    assert "sag" not in undecided("push-up-plus", "side")
    assert "sag" in undecided("push-up-plus", "front")


@pytest.mark.slow
def test_a_hand_on_the_belly_is_not_seen_from_behind():
    assert "elbow" in undecided("belly-press", "back")
    assert "elbow" not in undecided("belly-press", "front")


def test_the_figure_is_no_more_certain_than_people():
    pose = pose_of(load_exercise("belly-press"))
    figure = measure_track(seen_from(0.0, pose, ArmPose()))
    people = at_least_observed(figure, 0.0, pose.elevation)
    mine, theirs = (table.series("shoulder_elevation", "right") for table in (figure, people))
    np.testing.assert_array_equal(mine.value, theirs.value)
    assert np.nanmin(theirs.sd - mine.sd) > 0


@pytest.mark.slow
def test_times_are_decided_from_everywhere():
    assert all("hold" not in undecided("bear-hug-press", view) for view in of_view("belly-press"))


@pytest.mark.slow
def test_a_compound_exercise_is_looked_at_part_by_part():
    cycle = load_exercise("press-and-hold-cycle")
    ids = {check.id for one in view_advice(cycle) for check in (*one.decided, *one.undecided)}
    assert ids == {check.id for part in cycle.parts for check in part.checks}


def test_the_figure_stands_where_the_checks_want_the_arm():
    pose = pose_of(load_exercise("bear-hug-press"))
    assert (pose.elevation, pose.plane, pose.elbow) == (90, 95, 100)


@pytest.mark.slow
def test_turning_at_shoulder_height_is_advised_from_where_it_shows_most():
    first, *others = view_advice(load_exercise("external-rotation-at-shoulder-height"))
    assert first.view == "front"
    assert first.share >= max(one.share for one in others)


def check_of(exercise, check_id):
    return next(check for check in exercise.checks if check.id == check_id)


@pytest.mark.slow
def test_people_are_sent_to_a_view_that_decides_the_check():
    exercise = load_exercise("overhead-press")
    for name in ("lean", "lean-back"):
        views = [
            view
            for view, one in of_view("overhead-press").items()
            if name not in {check.id for check in one.undecided}
        ]
        found = better_view(exercise, MeasuredView.UNKNOWN, check_of(exercise, name))
        assert found == views[0]


def test_nobody_is_sent_to_film_from_where_they_already_stood():
    exercise = load_exercise("overhead-press")
    lean_back = check_of(exercise, "lean-back")
    assert better_view(exercise, MeasuredView.FRONT, lean_back) == "side"
    assert better_view(exercise, MeasuredView.RIGHT, lean_back) is None


@pytest.mark.slow
def test_nobody_is_sent_to_film_what_shows_from_nowhere():
    exercise = load_exercise("side-raise")
    finer = check_of(exercise, "hike").model_copy(update={"tolerance": 0.01})
    assert better_view(exercise, MeasuredView.FRONT, finer) is None


@pytest.mark.slow
def test_nobody_who_lies_is_sent_to_film_a_hike():
    standing = load_exercise("bent-elbow-circle")
    exercise = load_exercise("bent-elbow-circle-lying")
    exercise = exercise.model_copy(update={"checks": standing.checks})
    assert better_view(exercise, MeasuredView.OBLIQUE_RIGHT, check_of(exercise, "hike")) is None
