"""The score of a set, as the coach reads it."""

from dataclasses import replace

import pytest

from formcheck.sheets.pages.coach import coach_page


@pytest.mark.parametrize(
    ("score", "uncertainty", "said"),
    [
        (89, 10.0, "89 ± 10 of 100"),
        (98, 4.0, "98 of 100 (94 to 100)"),
        (2, 3.0, "2 of 100 (0 to 5)"),
    ],
)
def test_a_score_never_goes_beyond_its_ends(result, exercise, words, score, uncertainty, said):
    summary = replace(result.summary, score=score, score_uncertainty=uncertainty)
    page = coach_page(replace(result, summary=summary), exercise, words)
    assert dict(page.facts)["Score"].startswith(said)


def test_a_score_of_some_says_of_how_many(result, exercise, words):
    whole = coach_page(result, exercise, words)
    assert "that could be scored" not in dict(whole.facts)["Score"]
    first, *rest = result.reps
    some = replace(result, reps=(replace(first, score=None), *rest))
    said = dict(coach_page(some, exercise, words).facts)["Score"]
    assert "of the 4 of 5 repetitions that could be scored" in said
