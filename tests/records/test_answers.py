"""What the client says is kept as it was said, and stays open until the coach has looked into it."""

from dataclasses import replace
from datetime import timedelta

import pytest

from formcheck.errors import RecordsError
from formcheck.records.answers import (
    Answer,
    Ticked,
    add_answer,
    answers_of,
    clear,
    clearances_of,
    open_answers,
    tick,
    ticked_of,
)
from tests.records.made import DAY

SAID = Answer(
    DAY,
    exercise="belly-press",
    pain_before=1,
    pain_during=3,
    pain_after=2,
    pain_next_morning=1,
    effort=6,
    stopped_by="the telephone",
    words="Easier than last week.",
    red_flags={"numbness": False, "trauma": False},
    source="form",
)


def test_an_answer_is_kept_as_it_was_said(store):
    assert add_answer(store, "heron", SAID)
    assert answers_of(store, "heron") == [SAID]


def test_the_same_answer_again_changes_nothing_whichever_way_it_comes(store):
    add_answer(store, "heron", SAID)
    assert not add_answer(store, "heron", replace(SAID, source="manifest"))
    assert answers_of(store, "heron") == [SAID]


@pytest.mark.parametrize("name", ["pain_before", "pain_next_morning", "effort"])
@pytest.mark.parametrize("value", [-1, 11])
def test_pain_and_effort_go_from_0_to_10(store, name, value):
    with pytest.raises(RecordsError, match="is not from 0 to 10"):
        add_answer(store, "heron", replace(SAID, **{name: value}))
    assert answers_of(store, "heron") == []


def test_a_red_flag_is_open_until_the_coach_clears_it(store):
    add_answer(store, "heron", SAID)
    raised = replace(SAID, red_flags={"numbness": True, "trauma": False})
    add_answer(store, "heron", raised)
    assert open_answers(store, "heron") == [raised]
    clear(store, "heron", through_day=DAY, by="coach", note="Seen by the doctor; may go on.")
    assert open_answers(store, "heron") == []
    assert clearances_of(store, "heron")[0].note == "Seen by the doctor; may go on."
    again = replace(raised, day=DAY + timedelta(days=1))
    add_answer(store, "heron", again)
    assert open_answers(store, "heron") == [again]


def test_pain_above_what_is_allowed_is_open_too(store):
    add_answer(store, "heron", SAID)
    assert open_answers(store, "heron", most_pain=3) == []
    assert open_answers(store, "heron", most_pain=2) == [SAID]


@pytest.mark.parametrize(("by", "note"), [("", "fine"), ("coach", "  ")])
def test_nobody_clears_without_a_name_and_a_note(store, by, note):
    with pytest.raises(RecordsError, match="needs who gives it and a note"):
        clear(store, "heron", through_day=DAY, by=by, note=note)


def test_what_was_ticked_off_is_told_once_a_day(store):
    tick(store, "heron", Ticked("belly-press", "left", DAY, sets=2, count=4, held_s=40.0))
    tick(store, "heron", Ticked("belly-press", "left", DAY, sets=3, count=6, held_s=60.0))
    assert ticked_of(store, "heron") == [Ticked("belly-press", "left", DAY, 3, 6, 60.0)]
