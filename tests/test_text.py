"""Text from outside does no harm where it is shown."""

import pytest

from formcheck.text import escape_formula, strip_bidi, strip_control


def test_on_a_page_it_is_one_line_that_keeps_its_direction():
    assert strip_bidi("a\N{RIGHT-TO-LEFT OVERRIDE}b\N{LEFT-TO-RIGHT ISOLATE}c\nd\x00e") == "abc d e"
    assert strip_bidi("שלום Żółć 山田 🦩") == "שלום Żółć 山田 🦩"


def test_in_a_terminal_nothing_in_it_steers():
    assert strip_control("red \x1b[31m, back \r, turned \N{RIGHT-TO-LEFT OVERRIDE}") == (
        "red \N{REPLACEMENT CHARACTER}[31m, back \N{REPLACEMENT CHARACTER}, "
        "turned \N{REPLACEMENT CHARACTER}"
    )
    assert strip_control("می\N{ZERO WIDTH NON-JOINER}خواهم") == "می\N{ZERO WIDTH NON-JOINER}خواهم"


@pytest.mark.parametrize("text", ["=1+2", "+1", "-1", "@sum", " =cmd|' /c calc'!A0", "\uff1d1"])
def test_in_a_spreadsheet_it_does_not_run(text):
    assert escape_formula(text) == f"'{text}"


def test_plain_text_stays_as_it_is_in_a_spreadsheet():
    assert escape_formula("left arm") == "left arm"
    assert escape_formula("") == ""
