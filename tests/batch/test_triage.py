"""Who needs a look first: limits of safety before all else, doubt before what is well."""

from dataclasses import replace

import pytest

from formcheck.batch.triage import level_name, triage
from formcheck.catalogue.codes import LimitState, Verdict
from formcheck.catalogue.views import MeasuredView
from formcheck.checks.result import (
    ClipFacts,
    ClipResult,
    CountedDose,
    DoseCount,
    Finding,
    JudgedRep,
    LimitReport,
    PrescribedDose,
    Provenance,
    RepCount,
    Summary,
)
from formcheck.exercises.library import load_exercise
from formcheck.measures.table import View
from formcheck.movements.types import Rep

LIMIT = LimitReport(
    "never-above-shoulder-elevation", "shoulder_elevation", LimitState.PASSED, None, 60.0, "deg",
    64.0, 5.0, 2.0, 5, 5, "Only as high as the shelf.",
)  # fmt: skip


EXERCISE = load_exercise("side-raise")


def clip(**changes):
    """Five repetitions in which the height of the arm is within, or as ``changes`` say."""
    height = Finding(
        "height", "shoulder_elevation", "max", "whole", 91.0, 4.0, "deg", 80.0, 130.0, 11.0,
        Verdict.WITHIN, 2.0, "Raise your arm.", None,
    )  # fmt: skip
    rep = Rep(1, "rep", "right", False, 0.0, 1.0, 1.5, 2.0)
    return ClipResult(
        clip=ClipFacts("a.mp4", "0" * 64, 9.0, 270, 30.0, 64, 48, 0, variable_rate=False),
        exercise="side-raise",
        side="right",
        view=View(MeasuredView.FRONT, 0.0, 5.0),
        usable=True,
        tracked_share=1.0,
        problems=(),
        reps=5 * (JudgedRep(rep, 90, 1.0, (replace(height, **changes),)),),
        dose=DoseCount(PrescribedDose(5), CountedDose(5, {"right": RepCount(5)}), met=True),
        summary=Summary(90, (), None, (), ()),
        provenance=Provenance("0", "full", "0" * 64, {}),
    )


@pytest.mark.parametrize(
    ("state", "level"),
    [(LimitState.PASSED, "limit-passed"), (LimitState.PERHAPS_PASSED, "limit-perhaps")],
)
def test_a_limit_that_was_or_may_have_been_passed_comes_first(state, level):
    found, why = triage(replace(clip(), limits=(replace(LIMIT, state=state),)), EXERCISE)
    assert found == level
    assert "64 ± 5°" in why
    assert "limit at most 60°" in why


def test_it_comes_first_where_the_exercise_is_not_known_too():
    unknown = replace(clip(), usable=False, limits=(replace(LIMIT, per_clip=True),))
    level, why = triage(unknown, None)
    assert level == "limit-passed"
    assert "somewhere in the clip" in why


def test_a_limit_that_could_not_be_checked_is_not_passed_over():
    unchecked = replace(
        LIMIT, state=LimitState.UNCHECKED, value=None, uncertainty=None, reason=None,
        better_view="side",
    )  # fmt: skip
    level, why = triage(replace(clip(), limits=(unchecked,)), EXERCISE)
    assert level == "limit-unchecked"
    assert "from the side" in why


@pytest.mark.parametrize(
    ("changes", "level", "said"),
    [
        ({}, "well", "Nothing outside"),
        (
            {"verdict": Verdict.BORDERLINE, "probability_outside": 0.3},
            "well",
            "Probably fine, but look: Arm height",
        ),
        (
            {"verdict": Verdict.BORDERLINE, "probability_outside": 0.8},
            "perhaps",
            "perhaps not as asked in 5 of 5",
        ),
        (
            {"verdict": Verdict.NOT_MEASURABLE, "essential": True},
            "perhaps",
            "not seen for sure in 5 of 5, and it is what makes the exercise",
        ),
    ],
)
def test_doubt_is_told_with_its_reason(changes, level, said):
    found, why = triage(clip(**changes), EXERCISE)
    assert found == level
    assert said in why


def test_a_dose_that_was_not_met_hides_no_finding():
    doubtful = clip(verdict=Verdict.BORDERLINE, probability_outside=0.8)
    level, why = triage(replace(doubtful, dose=replace(doubtful.dose, met=False)), EXERCISE)
    assert level == "perhaps"
    assert "perhaps not as asked" in why


@pytest.mark.parametrize(
    ("counted", "met", "level"), [(3, False, "dose"), (5, True, "well"), (44, True, "over")]
)
def test_no_dose_hides_what_somebody_should_look_at(counted, met, level):
    doubtful = clip(verdict=Verdict.BORDERLINE, probability_outside=0.3)
    dose = DoseCount(PrescribedDose(5), CountedDose(counted, {"right": RepCount(counted)}), met=met)
    found, why = triage(replace(doubtful, dose=dose), EXERCISE)
    assert found == level
    assert "Probably fine, but look: Arm height" in why


def test_a_reading_past_its_limit_is_called_probably_fine_only_with_how_often_that_is_true():
    past = clip(
        verdict=Verdict.BORDERLINE, probability_outside=0.38, value=131.0, margin=-1.0
    )  # fmt: skip
    _, why = triage(past, EXERCISE)
    assert why.endswith(
        "Read past the limit; of readings like this about 6 in 10 are truly within it."
    )


def test_more_than_was_asked_for_is_not_as_prescribed():
    over = DoseCount(PrescribedDose(5), CountedDose(44, {"right": RepCount(44)}), met=True)
    assert triage(replace(clip(), dose=over), EXERCISE) == (
        "over",
        "More than was asked for in one set (44 instead of 5).",
    )
    assert level_name("over") == "more than was asked for"


def test_more_than_was_asked_for_is_told_beside_what_is_graver():
    over = DoseCount(PrescribedDose(5), CountedDose(44, {"right": RepCount(44)}), met=True)
    level, why = triage(
        replace(clip(verdict=Verdict.OUTSIDE, margin=-20.0, probability_outside=0.99), dose=over),
        EXERCISE,
    )
    assert level == "work-on"
    assert why.endswith("More than was asked for in one set (44 instead of 5).")
