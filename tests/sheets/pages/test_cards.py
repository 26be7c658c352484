"""The pieces that both pages show, in words."""

from dataclasses import replace

import pytest

from formcheck.catalogue.codes import Verdict
from formcheck.checks.result import CountedDose, Cue, RoundCount
from formcheck.sheets.pages.cards import cue_cards
from formcheck.sheets.pages.marks import client_mark, deciding_finding, rep_mark


def test_what_happens_once_a_round_is_counted_in_rounds_and_not_in_holds(result, words, exercise):
    cue = Cue("short-circles", "Draw all 3.", 2, 9.0, times_seen=1, certain=True, per_round=True)
    counted = CountedDose(7, {"right": RoundCount(rounds=2, whole=1)})
    compound = replace(
        result,
        dose=replace(result.dose, counted=counted),
        summary=replace(result.summary, cues=(cue,)),
    )
    (card,) = cue_cards(compound, exercise, words)
    assert card.seen == "To work on in 1 of 2 rounds."


def test_what_the_camera_is_not_sure_of_is_never_told_as_seen(result, words, exercise):
    cue = Cue("hike", "Keep your shoulder down.", 2, 9.0, times_seen=2, certain=False)
    (card,) = cue_cards(
        replace(result, summary=replace(result.summary, cues=(cue,))), exercise, words
    )
    assert card.seen.startswith("Perhaps to work on in 2 of")
    assert "cannot be sure" in card.unsure


def test_a_repetition_is_named_after_what_is_surest_to_be_wrong_in_it(result):
    judged = result.reps[0]
    doubtful = [
        replace(finding, id=name, verdict=Verdict.BORDERLINE, probability_outside=probability)
        for finding, name, probability in zip(
            judged.findings, ("plane", "hike", "lean"), (0.6, 0.9, 0.55), strict=False
        )
    ]
    told = deciding_finding(replace(judged, findings=tuple(doubtful)), None)
    assert told is not None
    assert told.id == "hike"


def one_rep(result, **changes):
    """A repetition in which one check is as ``changes`` say and all others are within."""
    judged = result.reps[0]
    first, *rest = judged.findings
    within = [replace(one, verdict=Verdict.WITHIN) for one in rest]
    return replace(judged, findings=(replace(first, **changes), *within))


@pytest.mark.parametrize(
    ("changes", "coach", "client"),
    [
        ({"verdict": Verdict.WITHIN}, "On target", "On target"),
        ({"verdict": Verdict.BORDERLINE, "probability_outside": 0.3}, "Probably fine", "Done"),
        (
            {"verdict": Verdict.BORDERLINE, "probability_outside": 0.7},
            "Perhaps not on target",
            "Perhaps not on target",
        ),
        ({"verdict": Verdict.OUTSIDE, "probability_outside": 0.99}, "To work on", "To work on"),
        (
            {"verdict": Verdict.NOT_MEASURABLE, "essential": True},
            "Look yourself",
            "Check this one yourself",
        ),
        (
            {"verdict": Verdict.BORDERLINE, "probability_outside": 0.3, "essential": True},
            "Look yourself",
            "Check this one yourself",
        ),
        (
            {"verdict": Verdict.BORDERLINE, "probability_outside": 0.3, "safety_limit": True},
            "Limit perhaps passed",
            "Limit perhaps passed",
        ),
        (
            {"verdict": Verdict.OUTSIDE, "probability_outside": 0.99, "safety_limit": True},
            "Limit passed",
            "Limit passed",
        ),
    ],
)
def test_doubt_without_a_sign_of_a_fault_is_for_the_coach_to_see(
    result, words, changes, coach, client
):
    judged = one_rep(result, **changes)
    assert rep_mark(judged, None, words).word == coach
    assert client_mark(judged, None, words).word == client
