"""What is met before the next phase, in words that can be read and a command that can be copied."""

from datetime import date

import pytest

from formcheck.catalogue.codes import LimitState
from formcheck.records.answers import Answer
from formcheck.records.limits import PassedLimit
from formcheck.records.readiness import Gate, ItemDue, Readiness, Rule, RuleName, State
from formcheck.sheets.pages.ready import ready_lines


def test_the_command_that_signs_can_be_copied_for_an_alias_of_two_words(words):
    gate = Gate("loaded", (Rule(RuleName.DAYS, State.MET, 6, 7),))
    due = ItemDue("scaption-raise", "right", 0, 3)
    lines = ready_lines(Readiness("one", date(2026, 3, 2), (due,), gate, ()), "Blue Heron", words)
    assert lines[1] == "Arm raise, a third of the way from side to front (right): due"
    assert "formcheck client sign 'Blue Heron' --phase \"loaded\"" in lines[-1]


def test_a_limit_that_was_passed_is_named_with_its_day_and_by_how_much(words):
    day = date(2026, 3, 2)
    ends = (128.0, 4.0, "deg", None, 120.0)
    passed = PassedLimit(day, 7, "push-up-plus", LimitState.PASSED, "shoulder_elevation", *ends)
    rule = Rule(RuleName.NO_LIMIT_PASSED, State.NOT_MET, days=(day,), limits=(passed,))
    told = ready_lines(Readiness("one", day, (), Gate("two", (rule,)), ()), "heron", words)
    assert (
        "not met: no limit of safety passed in the last sessions, whatever was done in them "
        "(2 March 2026, Push-up plus: arm height 128 ± 4°, limit at most 120°)"
    ) in told


@pytest.mark.parametrize("gate", [None, Gate("two", (Rule(RuleName.DAYS, State.MET, 6, 7),))])
def test_what_is_open_comes_first_and_nothing_is_due_then(words, gate):
    day = date(2026, 3, 2)
    told = Answer(day, pain_during=6, red_flags={"numb-or-weak": True})
    due = ItemDue("scaption-raise", "right", 0, 3)
    waits = ItemDue("belly-press", "right", 5, 3)
    first, *rest = ready_lines(
        Readiness("one", day, (due, waits), gate, (told,), most_pain=4), "Blue Heron", words
    )
    assert first.startswith("Stop: Blue Heron told of what nobody has looked into yet.")
    assert "2 March 2026" in first
    assert "New numbness" in first
    assert "6 of 10. With more than 4, stop" in first
    assert "formcheck client clear 'Blue Heron'" in first
    assert not any(line.endswith(": due") for line in rest)
    assert any(line.endswith("not due while this is open") for line in rest)
    assert any("waits for 5 sessions" in line for line in rest)


def test_a_number_that_nobody_told_is_said_to_be_missing_and_not_drawn_as_a_dash(words):
    rules = (
        Rule(RuleName.PAIN_DURING, State.UNKNOWN, 3, None, (date(2026, 3, 2),)),
        Rule(RuleName.SHARE_WITHIN, State.UNKNOWN, 0.8, None),
    )
    ready = Readiness("one", date(2026, 3, 2), (), Gate("loaded", rules), ())
    pain, share = ready_lines(ready, "heron", words)[2:4]
    assert pain == (
        "not known: pain during the last sessions at most 3: none was told (2 March 2026)"
    )
    assert share.endswith("asked for 80 %: nothing was judged")
