"""A limit of safety counts as kept only where it was surely kept."""

from dataclasses import replace

import numpy as np
import pytest

from formcheck.catalogue.views import MeasuredView
from formcheck.checks.dose import count_dose
from formcheck.checks.judge import judge_reps, summarise
from formcheck.checks.limits import limit_reports, limits_of_clip
from formcheck.exercises.client_limits import limit_checks
from formcheck.exercises.library import load_exercise
from formcheck.exercises.programme_file import Limit
from formcheck.measures.table import MeasureTable, Series, View
from formcheck.movements.types import Rep

LIMIT = Limit(measure="shoulder_elevation", never_above=60.0, cue="Only as high as the shelf.")
TIME_S = np.arange(121) / 30.0
REP = Rep(1, "rep", "right", False, 0.5, 1.5, 2.5, 3.5)


@pytest.fixture
def exercise():
    raising = load_exercise("side-raise")
    height = tuple(check for check in raising.checks if check.id == "height")
    return raising.model_copy(update={"checks": (*height, *limit_checks(LIMIT))})


def arm_at(value, sd):
    """A table in which the arm is this high all the time."""
    still = np.zeros(len(TIME_S), dtype=bool)
    column = Series(np.full(len(TIME_S), value), np.full(len(TIME_S), sd))
    view = View(MeasuredView.FRONT, 0.0, 5.0)
    return MeasureTable(TIME_S, {"shoulder_elevation_right_deg": column}, view, {}, still, still)


def reports(exercise, table, reps=(REP,), **kwargs):
    return limit_reports(exercise, judge_reps(table, exercise, reps), **kwargs)


@pytest.mark.parametrize(
    ("value", "sd", "state"),
    [
        (40.0, 5.0, "kept"),
        (53.0, 5.0, "kept"),
        (55.0, 5.0, "perhaps-passed"),  # probably kept, but not surely
        (64.0, 5.0, "perhaps-passed"),
        (69.0, 5.0, "passed"),
        (40.0, 40.0, "unchecked"),  # so coarse that half the limit would not be surely below it
    ],
)
def test_the_burden_is_reversed(exercise, value, sd, state):
    (found,) = reports(exercise, arm_at(value, sd))
    assert found.state == state


def test_a_report_says_the_number_the_reading_and_the_coachs_own_words(exercise):
    (found,) = reports(exercise, arm_at(90.0, 5.0))
    assert (found.high, found.value, found.uncertainty) == (60.0, 90.0, 5.0)
    assert (found.times_seen, found.among, found.cue) == (1, 1, "Only as high as the shelf.")


def test_an_unchecked_limit_names_the_view_that_would_check_it(exercise):
    (found,) = reports(exercise, arm_at(np.nan, np.nan), better_view_of=lambda _: "side")
    assert (found.state, found.better_view) == ("unchecked", "side")
    assert found.reason is not None


def test_a_repetition_that_is_not_whole_passes_a_limit_all_the_same(exercise):
    (found,) = reports(exercise, arm_at(90.0, 5.0), [replace(REP, partial=True)])
    assert found.state == "passed"


def test_without_repetitions_the_whole_clip_is_held_against_it(exercise):
    (found,) = limits_of_clip(arm_at(90.0, 5.0), exercise, ["right"])
    assert (found.state, found.per_clip) == ("passed", True)


def test_nobody_who_may_have_passed_a_limit_is_praised_or_asked_for_more(exercise):
    judged = judge_reps(arm_at(64.0, 5.0), exercise, [REP])
    assert summarise(exercise, judged).cues  # the arm is too low for the exercise itself
    told = summarise(exercise, judged, limits=limit_reports(exercise, judged))
    assert (told.cues, told.praise) == ((), None)


@pytest.mark.parametrize(
    ("essential", "verdict", "met"),
    [
        (False, "within", True),
        (True, "within", True),
        (True, "borderline", None),
        (True, "not-measurable", None),
        (True, "outside", False),
    ],
)
def test_a_dose_is_met_by_what_had_what_makes_the_exercise(exercise, essential, verdict, met):
    once = exercise.model_copy(update={"dose": exercise.dose.model_copy(update={"count": 1})})
    (judged,) = judge_reps(arm_at(40.0, 5.0), once, [REP])
    first, *rest = judged.findings
    findings = (
        replace(first, essential=essential, verdict=verdict),
        *(replace(one, essential=False) for one in rest),
    )
    assert count_dose(once, [replace(judged, findings=findings)], ["right"]).met is met


@pytest.mark.parametrize(("value", "scored"), [(40.0, True), (55.0, False), (90.0, False)])
def test_a_set_is_scored_only_where_its_limits_were_surely_kept(exercise, value, scored):
    reps = judge_reps(arm_at(value, 5.0), exercise, (REP,))
    summary = summarise(exercise, reps, limits=limit_reports(exercise, reps))
    assert (summary.score is not None) == scored
    assert (reps[0].score is not None) == scored
