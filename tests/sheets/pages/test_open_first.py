"""Which repetition the coach opens first, and why that one."""

from dataclasses import replace

import pytest

from formcheck.catalogue.codes import Message, ReasonCode
from formcheck.sheets.pages.coach import coach_page


@pytest.mark.parametrize(
    ("verdict", "chances", "said"),
    [
        ("outside", (0.96, 0.97, 0.99, 0.96, 0.96), "All 5 are much alike."),
        ("borderline", (0.2, 0.3, 0.4, 0.2, 0.2), "probably fine, and all 5 are much alike"),
    ],
)
def test_of_several_alike_it_is_told_why_this_one(result, exercise, words, verdict, chances, said):
    whole = [
        replace(
            judged,
            findings=(replace(judged.findings[0], verdict=verdict, probability_outside=chance),),
        )
        for judged, chance in zip(result.whole_reps, chances, strict=True)
    ]
    opened = coach_page(replace(result, reps=tuple(whole)), exercise, words).open_first
    assert opened.text.startswith("Open repetition 3 first")
    assert said in opened.text
    assert (opened.mark == "outside") is (verdict == "outside")
    two = coach_page(replace(result, reps=tuple(whole[:2])), exercise, words).open_first
    assert "oth are much alike" in two.text
    alone = coach_page(replace(result, reps=(whole[0],)), exercise, words).open_first
    assert "alike" not in alone.text


def test_a_value_past_its_limit_is_called_probably_fine_only_with_how_often_that_is_true(
    result, exercise, words
):
    said = "Read past the limit; of readings like this about 7 in 10 are truly within it."

    def page(margin):
        first = result.whole_reps[0]
        one = replace(
            first.findings[0], verdict="borderline", probability_outside=0.3, margin=margin
        )
        return coach_page(replace(result, reps=(replace(first, findings=(one,)),)), exercise, words)

    for margin, told in ((-0.3, True), (0.3, False)):
        coach = page(margin)
        assert (said in coach.open_first.text) is told
        assert (said in dict(coach.facts)["Not sure of"]) is told
        assert (coach.reps[0].lines[0].reason == said) is told


def test_a_check_that_some_repetitions_did_not_allow_is_named_with_how_many(
    result, exercise, words
):
    seen = tuple(replace(one, findings=one.findings[:1]) for one in result.whole_reps)
    assert coach_page(replace(result, reps=seen), exercise, words).partly_measured == ()
    hidden = replace(
        seen[0].findings[0], verdict="not-measurable", reason=Message(ReasonCode.ARM_HIDDEN)
    )
    partly = (replace(seen[0], findings=(hidden,)), *seen[1:])
    (line,) = coach_page(replace(result, reps=partly), exercise, words).partly_measured
    assert line.startswith("Arm height")
    assert "could not be told in 1 of 5" in line
