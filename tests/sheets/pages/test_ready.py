"""What is met before the next phase, in words that can be read and a command that can be copied."""

from datetime import date

from formcheck.records.readiness import Gate, ItemDue, Readiness, Rule, RuleName, State
from formcheck.sheets.pages.ready import ready_lines


def test_the_command_that_signs_can_be_copied_for_an_alias_of_two_words(words):
    gate = Gate("loaded", (Rule(RuleName.DAYS, State.MET, 6, 7),))
    due = ItemDue("scaption-raise", "right", 0, 3)
    lines = ready_lines(Readiness("one", date(2026, 3, 2), (due,), gate, ()), "Blue Heron", words)
    assert lines[1] == "Arm raise, a third of the way from side to front (right): due"
    assert "formcheck client sign 'Blue Heron' --phase \"loaded\"" in lines[-1]
