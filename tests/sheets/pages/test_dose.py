"""What the pages say of how much was done."""

from dataclasses import replace

import pytest

from formcheck.checks.result import (
    ClipResult,
    CountedDose,
    DirectionCount,
    DoseCount,
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
    assert "it is more than was asked for" in client.dose_line
    assert "Keep going" not in client.next_none
    assert "Do no more than was asked for" in client.next_none
    assert "More than was asked for" in dict(coach_page(many, exercise, words).facts)["Dose"]
    right = client_page(clean(result, dose=dose(RepCount(10))), exercise, words)
    assert "Keep going" in right.next_none


def test_a_coach_is_told_where_there_is_nothing_to_open_first(result, exercise, words):
    page = coach_page(clean(result), exercise, words)
    assert page.open_first is None
    assert "Nothing stands out" in dict(page.facts)["Look first"]
    faulty = coach_page(result, exercise, words)
    assert "Nothing stands out" not in " ".join(text for _, text in faulty.facts)
