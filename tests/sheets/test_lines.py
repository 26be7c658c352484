"""The pieces that both pages show, in words."""

from dataclasses import replace

from formcheck.checks.result import Cue
from formcheck.sheets.lines import cue_cards


def test_what_happens_once_a_round_is_counted_in_rounds_and_not_in_holds(result, words):
    cue = Cue("short-circles", "Draw all 3.", 2, 9.0, times_seen=1, certain=True, per_round=True)
    counted = {"count": 7, "right": {"cycles": 2, "whole_cycles": 1}}
    compound = replace(
        result,
        dose=replace(result.dose, counted=counted),
        summary=replace(result.summary, cues=(cue,)),
    )
    (card,) = cue_cards(compound, words)
    assert card.seen == "Seen in 1 of 2 rounds."


def test_what_the_camera_is_not_sure_of_is_never_told_as_seen(result, words):
    cue = Cue("hike", "Keep your shoulder down.", 2, 9.0, times_seen=2, certain=False)
    (card,) = cue_cards(replace(result, summary=replace(result.summary, cues=(cue,))), words)
    assert card.seen.startswith("Perhaps in 2 of")
    assert "not sure" in card.unsure
