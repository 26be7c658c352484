"""The pieces that both pages show, in words."""

from dataclasses import replace

from formcheck.checks.result import CountedDose, Cue, RoundCount
from formcheck.sheets.pages.cards import cue_cards
from formcheck.sheets.pages.marks import deciding_finding


def test_what_happens_once_a_round_is_counted_in_rounds_and_not_in_holds(result, exercise, words):
    cue = Cue("short-circles", "Draw all 3.", 2, 9.0, times_seen=1, certain=True, per_round=True)
    counted = CountedDose(7, {"right": RoundCount(rounds=2, whole=1)})
    compound = replace(
        result,
        dose=replace(result.dose, counted=counted),
        summary=replace(result.summary, cues=(cue,)),
    )
    (card,) = cue_cards(compound, exercise, words)
    assert card.seen == "Seen in 1 of 2 rounds."


def test_what_the_camera_is_not_sure_of_is_never_told_as_seen(result, exercise, words):
    cue = Cue("hike", "Keep your shoulder down.", 2, 9.0, times_seen=2, certain=False)
    (card,) = cue_cards(
        replace(result, summary=replace(result.summary, cues=(cue,))), exercise, words
    )
    assert card.seen.startswith("Perhaps in 2 of")
    assert "not sure" in card.unsure


def test_a_repetition_is_named_after_what_is_surest_to_be_wrong_in_it(result):
    judged = result.reps[0]
    doubtful = [
        replace(finding, id=name, verdict="borderline", margin=margin, uncertainty=sd)
        for finding, name, margin, sd in zip(
            judged.findings,
            ("plane", "hike", "lean"),
            (-4.0, -2.0, -1.0),
            (16.0, 1.5, 5.0),
            strict=False,
        )
    ]
    told = deciding_finding(replace(judged, findings=tuple(doubtful)), None)
    assert told is not None
    assert told.id == "hike"
