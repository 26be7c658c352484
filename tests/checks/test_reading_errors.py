"""Readings err as is known of them, not as a normal distribution would have it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formcheck.catalogue.codes import Importance
from formcheck.catalogue.measures import MEASURES
from formcheck.checks.decision import beyond, coarsest_sd, middle
from formcheck.checks.reading_errors import NORMAL, ReadingErrors, errors_of, kind_of
from formcheck.exercises.library import library_names, load_exercise
from formcheck.exercises.schema import Check

WORSE = ReadingErrors(near=0.6, far=3.0, far_share=0.1)


def hike(**changes):
    values = {
        "id": "hike", "measure": "hike", "statistic": "max", "high": 1.0, "tolerance": 1.5,
        "importance": Importance.POSITION, "cue": "Down.", "praise": "Down.",
        "source": "common practice, no source",
    }  # fmt: skip
    return Check(**{**values, **changes})


def test_without_more_knowledge_errors_are_normal():
    assert NORMAL.upper_tail(1.645) == pytest.approx(0.05, abs=1e-4)
    assert NORMAL.reached(0.05) == pytest.approx(1.645, abs=1e-3)


def test_a_few_far_worse_readings_make_a_large_error_likelier_and_a_small_one_not():
    assert WORSE.upper_tail(3.0) > 10 * NORMAL.upper_tail(3.0)
    assert WORSE.upper_tail(0.7) < NORMAL.upper_tail(0.7)


@given(st.floats(0.01, 0.49), st.floats(0.4, 1.5), st.floats(1.5, 6.0), st.floats(0.0, 0.4))
def test_what_is_reached_is_exceeded_with_that_probability(probability, near, far, share):
    errors = ReadingErrors(1.0, near, far, share)
    assert errors.upper_tail(errors.reached(probability)) == pytest.approx(probability, rel=1e-6)


@given(value=st.floats(0, 4), sd=st.floats(0.2, 2))
def test_within_and_outside_are_judged_alike(value, sd):
    """As far inside a limit as beyond it is as surely inside as outside."""
    upper = beyond(hike(), 2.5 + value, sd, WORSE).above
    lower = beyond(hike(), 2.5 - value, sd, WORSE).above
    assert upper == pytest.approx(1 - lower)


def test_departures_that_are_read_too_large_are_made_smaller_from_the_middle_of_the_target():
    read_too_large = ReadingErrors(gain=0.5)
    usual = middle(hike())
    assert beyond(hike(), 2.5 + (2.5 - usual), 1.0, read_too_large).above == pytest.approx(0.5)


def test_of_a_limit_of_safety_nothing_is_usual_and_no_uncertainty_is_made_smaller():
    for measure in ("hike", "shoulder_elevation"):
        errors = errors_of(hike(measure=measure, relative=measure == "hike", safety_limit=True))
        assert errors.gain == 1.0
        assert errors.near >= 1.0


def test_who_does_what_was_asked_is_within_up_to_the_coarsest_uncertainty():
    coarsest = coarsest_sd(hike(), errors=WORSE)
    assert beyond(hike(), middle(hike()), coarsest, WORSE).probability == pytest.approx(0.1)


def test_a_change_is_told_from_a_value():
    assert kind_of(hike()) == "value"
    assert kind_of(hike(relative=True)) == "change"
    assert kind_of(hike(statistic="range")) == "change"
    assert kind_of(hike(statistic="spread")) == "spread"


def test_a_joint_that_wanders_within_a_circle_is_less_surely_steady_than_in_another_movement():
    steady = next(
        one for one in load_exercise("bent-elbow-circle").checks if one.id == "elbow-steady"
    )
    circle, other = (
        beyond(steady, 30.0, 14.0, errors_of(steady, movement)).probability
        for movement in ("circle", "rep")
    )
    assert circle > other
    assert kind_of(steady, "circle") != kind_of(steady, "hold")


def test_what_the_library_judges_over_time_errs_in_a_known_way_or_normally():
    for name in library_names():
        for _, check in load_exercise(name).all_checks:
            errors = errors_of(check)
            assert 0 <= errors.far_share <= 0.5
            if not MEASURES[check.measure].over_time:
                assert errors == NORMAL
