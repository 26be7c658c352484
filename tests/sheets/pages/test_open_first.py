"""Which repetition the coach opens first, and why that one."""

from dataclasses import replace

import pytest

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
    alone = coach_page(replace(result, reps=(whole[0],)), exercise, words).open_first
    assert "alike" not in alone.text
