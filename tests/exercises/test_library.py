import re

import pytest

from formcheck.catalogue.measures import MEASURES
from formcheck.exercises.library import library_names, load_exercise
from formcheck.exercises.schema import Check, Exercise

RELIED_ON = (
    "belly-press",
    "bear-hug-press",
    "lift-off",
    "bent-elbow-circle",
    "push-up-plus",
    "chest-wall-stretch",
    "ball-release",
    "scaption-raise",
    "side-raise",
    "front-raise",
    "elbow-curl",
    "external-rotation-at-side",
)
PUBLISHED = re.compile(r"\b(19|20)\d\d\b")


def all_checks(exercise: Exercise) -> list[Check]:
    return [*exercise.checks, *(check for part in exercise.parts for check in part.checks)]


def test_the_names_that_others_rely_on_are_there():
    assert set(RELIED_ON) <= set(library_names())


@pytest.mark.parametrize("name", library_names())
def test_every_library_file_is_complete_and_bears_its_own_name(name):
    exercise = load_exercise(name)
    assert exercise.name == name
    assert exercise.checks or exercise.parts
    assert exercise.look_yourself
    assert exercise.can_judge
    assert exercise.cannot_judge


@pytest.mark.parametrize("name", library_names())
def test_every_number_says_where_it_comes_from(name):
    exercise = load_exercise(name)
    sources = [exercise.source, exercise.dose.source]
    sources += [check.source for check in all_checks(exercise)]
    for source in sources:
        assert source.startswith("common practice, no source") or PUBLISHED.search(source), source


@pytest.mark.parametrize("name", library_names())
def test_every_exercise_tells_the_client_when_to_stop(name):
    assert any(caution.startswith("Stop on") for caution in load_exercise(name).cautions)


@pytest.mark.parametrize("name", library_names())
def test_every_hold_is_checked_for_its_length_and_agrees_with_its_dose(name):
    exercise = load_exercise(name)
    for judged in exercise.parts or [exercise]:
        if judged.movement == "hold":
            low = next(check.low for check in judged.checks if check.measure == "hold")
            assert low == exercise.dose.hold_s


@pytest.mark.parametrize("name", library_names())
def test_tolerances_are_no_tighter_than_one_camera_can_tell(name):
    least = {"deg": 3, "cm": 0.5}
    for check in all_checks(load_exercise(name)):
        if MEASURES[check.measure].over_time:
            assert check.tolerance >= least[MEASURES[check.measure].unit], check.id


@pytest.mark.parametrize("name", library_names())
def test_views_are_named_once(name):
    filming = load_exercise(name).filming
    views = filming.best + filming.usable
    assert len(set(views)) == len(views)


@pytest.mark.parametrize("name", library_names())
def test_one_or_two_checks_are_what_makes_each_exercise(name):
    exercise = load_exercise(name)
    for judged in exercise.parts or [exercise]:
        assert 1 <= sum(check.essential for check in judged.checks) <= 2


@pytest.mark.parametrize("name", library_names())
def test_the_time_held_makes_a_hold_and_too_long_a_time_is_only_advice(name):
    exercise = load_exercise(name)
    for judged in exercise.parts or [exercise]:
        for check in judged.checks:
            if check.measure == "hold":
                assert check.essential == (check.low is not None)
                assert check.high is None or (check.importance == "tempo" and check.tolerance >= 3)
