"""Every code has its sentences, and every sentence of these tables a code."""

import string

import pytest

from formcheck.catalogue.codes import (
    TABLES,
    Message,
    PreflightCode,
    ProblemCode,
    ReasonCode,
    RoundCode,
)
from formcheck.catalogue.problems import RecordingProblem

FORMS = {
    ProblemCode.PRIMARY_NOT_SEEN: {"as-advised", "elsewhere", "view-unknown"},
    ProblemCode.EXERCISE_UNCLEAR: {"none", "several", "any"},
    ProblemCode.TOO_SMALL: {"picture", "person"},
    ProblemCode.ENDED_EARLY: {"stated", "unstated"},
    ProblemCode.NOBODY_IN_VIEW: {"ever", "while"},
    ProblemCode.ONLY_LEGS: {"once", "often"},
    ProblemCode.SHOULDERS_OUT_OF_VIEW: {"once", "often"},
    ProblemCode.HIPS_OUT_OF_VIEW: {"once", "often"},
    ProblemCode.ARMS_OUT_OF_VIEW: {"once", "often"},
    ProblemCode.NOT_FOLLOWED: {"one", "several"},
    ProblemCode.ANOTHER_POSITION: {"level", "upright"},
    ProblemCode.VIEWS_NOT_TIMED: {"heard", "silent"},
    ProblemCode.VIEWS_DO_NOT_FIT: {"one-set", "other"},
    ProblemCode.CAMERA_PITCHED: {"down", "up"},
    ProblemCode.LEFT_RIGHT_SWAP: {"once", "often"},
}
"""The codes that have several sentences."""


@pytest.mark.parametrize("codes", TABLES, ids=TABLES.get)
def test_every_code_has_its_sentences_and_every_sentence_a_code(words, codes):
    table = words.catalogue[TABLES[codes]]
    forms = {name: set(entry) for name, entry in table.items() if isinstance(entry, dict)}
    assert set(table) == {str(code) for code in codes}
    assert forms == {str(code): own for code, own in FORMS.items() if code in codes}


def test_what_a_sentence_asks_for_is_written_as_it_asks(words):
    brief = RecordingProblem(ProblemCode.TOO_SHORT, params={"duration_s": 1.9, "needed_s": 2.0})
    views = RecordingProblem(
        ProblemCode.PRIMARY_NOT_SEEN,
        params={
            "share": 0.3,
            "views": ("front", "oblique", "side"),
            "filmed": "back",
            "missing": "arm-hidden",
        },
        form="elsewhere",
    )
    arms = RecordingProblem(
        ProblemCode.ARMS_OUT_OF_VIEW, 2.6, 64.2, params={"arms": "left", "times": 3}, form="often"
    )
    assert "1.9 s long; at least 2 s are needed" in words.tell(brief.message)
    assert (
        "less than 30 % of the clip: the arm is hidden. It was filmed from behind; film it from the "
        "front, from half-way between front and side or from the side." in words.tell(views.message)
    )
    assert words.tell(arms.message).startswith(
        "Your left arm leaves the picture 3 times from 0:03 to 1:04."
    )


@pytest.mark.parametrize(
    ("unit", "sd", "said"),
    [
        ("cm", 1.83, "± 1.8 cm"),
        ("deg", 12.4, "± 12°"),
        ("", 0.3125, "± 0.31"),
        ("deg/s", 8.0, "± 8°/s"),
    ],
)
def test_a_reading_that_is_too_coarse_says_how_coarse_in_its_own_unit(words, unit, sd, said):
    told = words.tell(Message(ReasonCode.TOO_COARSE, {"sd": sd, "unit": unit}))
    assert (
        told
        == f"from here the camera can tell it only to {said}, which is too rough for this limit"
    )


def test_rounds_are_named_with_their_side_where_two_sides_were_seen(words):
    params = {"number": 2, "side": "left", "parts": ("Press", "Hug"), "moments_s": (12.4, 13.6)}
    told = words.tell(Message(RoundCode.OPEN_ORDER, params))
    assert told == (
        "Round 2, left side: the camera cannot tell the order of these: Press, Hug. "
        "Look at the stills at 0:12 and 0:14."
    )
    one = Message(RoundCode.LEFT_OUT, {"number": 1, "side": "", "part": "Press"})
    assert words.tell(one) == "Round 1: Press was left out."


def test_a_client_is_told_where_the_camera_should_stand(words):
    told = words.tell(Message(PreflightCode.POOR_VIEW, {"camera": "back-oblique"}))
    assert told.startswith("Put the camera half-way between your back and the working side;")


def test_no_sentence_asks_for_a_unit_or_table_that_there_is_not(words):
    known = {"", "moment", "percent", ".0f", "{unit}", *words.catalogue["unit"], *words.catalogue}
    for codes, table in TABLES.items():
        for code in codes:
            entry = words.catalogue[table][code]
            for sentence in entry.values() if isinstance(entry, dict) else (entry,):
                for _, _, how, _ in string.Formatter().parse(sentence):
                    assert (how or "").partition("|")[0] in known, sentence
