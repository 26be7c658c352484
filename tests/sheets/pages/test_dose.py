"""What the pages say of how much was done."""

from dataclasses import replace

import pytest

from formcheck.catalogue.codes import LimitState
from formcheck.checks.result import (
    ClipResult,
    CountedDose,
    DirectionCount,
    DoseCount,
    LimitReport,
    PrescribedDose,
    RepCount,
    RoundCount,
    SideCount,
)
from formcheck.sheets.pages.client import client_page
from formcheck.sheets.pages.coach import coach_page
from formcheck.sheets.pages.dose import counted_line, is_over


def dose(*sets: SideCount, asked: int = 10) -> DoseCount:
    each = tuple({"right": one} for one in sets)
    counted = CountedDose(by_side=each[0], by_set=each if len(each) > 1 else ())
    return DoseCount(PrescribedDose(asked), counted, met=True)


def clean(result: ClipResult, **changes: object) -> ClipResult:
    """The same set without a finding against it and without cues."""
    reps = tuple(
        replace(
            one,
            findings=tuple(
                replace(f, verdict="within", probability_outside=0.0) for f in one.findings
            ),
        )
        for one in result.reps
    )
    return replace(result, reps=reps, summary=replace(result.summary, cues=()), **changes)


@pytest.mark.parametrize(
    ("done", "over", "said"),
    [
        (dose(RepCount(10)), False, "10 of 10"),
        (dose(RepCount(44)), True, "44 instead of 10"),
        (dose(RepCount(10), RepCount(10)), False, "set 1: 10 of 10; set 2: 10 of 10"),
        (dose(DirectionCount(10, 12)), True, "forward 10 of 10, backward 12 instead of 10"),
        (dose(RoundCount(3, 3), asked=2), True, "3 instead of 2 rounds"),
    ],
)
def test_more_than_was_asked_for_in_one_set_is_called_so(words, done, over, said):
    assert is_over(done) is over
    assert counted_line(done, words) == said


def test_who_did_far_too_many_is_not_told_to_keep_going(result, exercise, words):
    many = clean(result, dose=dose(RepCount(44)))
    client = client_page(many, exercise, words)
    assert client.done == "44 instead of 10 done"
    assert "More than was asked for in one set (44 instead of 10)." in client.dose_line
    assert "Keep going" not in client.next_none
    assert "Do no more than was asked for" in client.next_none
    assert "More than was asked for" in dict(coach_page(many, exercise, words).facts)["Dose"]
    right = client_page(clean(result, dose=dose(RepCount(10))), exercise, words)
    assert "Keep going" in right.next_none


def test_who_did_too_few_is_told_so_and_not_to_keep_going(result, exercise, words):
    short = replace(dose(RepCount(3)), met=False)
    told = client_page(clean(result, dose=short), exercise, words).next_none
    assert "the set is not complete" in told
    assert "Keep going" not in told


def test_a_coach_is_told_where_there_is_nothing_to_open_first(result, exercise, words):
    page = coach_page(clean(result), exercise, words)
    assert page.open_first is None
    assert "Nothing stands out" in dict(page.facts)["Look first"]
    faulty = coach_page(result, exercise, words)
    assert "Nothing stands out" not in " ".join(text for _, text in faulty.facts)


def test_holds_that_were_all_too_short_are_seen_but_not_done(result, exercise, words):
    counted = CountedDose(3, {"right": RepCount(3)}, holds_s=(3.1, 3.2, 3.1), long_enough=0)
    short = replace(result, dose=DoseCount(PrescribedDose(3, hold_s=5.0), counted, met=False))
    assert client_page(short, exercise, words).done == "3 of 3 seen"
    long_enough = replace(short.dose, counted=replace(counted, long_enough=3))
    page = client_page(replace(short, dose=long_enough), exercise, words)
    assert page.done == "3 of 3 done"


@pytest.mark.parametrize(
    ("state", "met", "said"),
    [
        (LimitState.PASSED, False, "not complete, as a limit was passed"),
        (LimitState.PERHAPS_PASSED, None, "cannot be told, as a limit may have been passed"),
    ],
)
def test_a_full_count_that_is_not_complete_says_why(result, exercise, words, state, met, said):
    asked = len(result.whole_reps)
    dose_asked = exercise.dose.model_copy(update={"count": asked})
    exercise = exercise.model_copy(update={"dose": dose_asked})
    full = DoseCount(PrescribedDose(asked), CountedDose(asked, {"right": RepCount(asked)}), met)
    limit = LimitReport(
        "never-above", "shoulder_elevation", state, None, 60.0, "deg",
        94.0, 5.0, 2.0, 5, 5, "Only as high as the shelf.",
    )  # fmt: skip
    page = coach_page(replace(result, dose=full, limits=(limit,)), exercise, words)
    assert dict(page.facts)["Dose"].endswith(said)
