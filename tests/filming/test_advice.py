"""Which views can decide which checks of an exercise."""

import pytest

from formcheck.exercises.library import library_names, load_exercise
from formcheck.filming.advice import pose_of, view_advice


def of_view(name):
    return {one.view: one for one in view_advice(load_exercise(name))}


def undecided(name, view):
    return {check.id for check in of_view(name)[view].undecided}


@pytest.mark.parametrize("name", library_names())
def test_every_exercise_can_be_judged_from_the_view_it_recommends(name):
    exercise = load_exercise(name)
    advice = view_advice(exercise)
    assert advice[0].view in exercise.filming.best
    # Lying with the arms out, one of them points at whoever can see the height of both.
    assert advice[0].share >= (0.3 if name == "prone-t" else 0.5)
    assert {one.view for one in advice} == {"front", "oblique", "side", "back-oblique", "back"}


def test_sagging_hips_are_decided_from_the_side_only():
    assert "sag" not in undecided("push-up-plus", "side")
    assert "sag" in undecided("push-up-plus", "front")


def test_a_hand_on_the_belly_is_not_seen_from_behind():
    assert "elbow" in undecided("belly-press", "back")
    assert "elbow" not in undecided("belly-press", "front")


def test_times_are_decided_from_everywhere():
    assert all("hold" not in undecided("bear-hug-press", view) for view in of_view("belly-press"))


def test_a_compound_exercise_is_looked_at_part_by_part():
    cycle = load_exercise("press-and-hold-cycle")
    ids = {check.id for one in view_advice(cycle) for check in (*one.decided, *one.undecided)}
    assert ids == {check.id for part in cycle.parts for check in part.checks}


def test_the_figure_stands_where_the_checks_want_the_arm():
    pose = pose_of(load_exercise("bear-hug-press"))
    assert (pose.elevation, pose.plane, pose.elbow) == (90, 95, 100)
