"""Limits and values of measures that go two ways: said in words, never by a sign to be known."""

from dataclasses import dataclass

import pytest

from formcheck.words.limits import limits_text, never_text, value_text


@dataclass(frozen=True)
class Read:
    measure: str
    value: float | None
    low: float | None = None
    high: float | None = None
    uncertainty: float | None = 1.8
    unit: str = "cm"


@pytest.mark.parametrize(
    ("measure", "low", "high", "unit", "said"),
    [
        ("hip_off_line", -7.0, None, "cm", "at most 7 cm above the line"),
        ("hip_off_line", None, 5.5, "cm", "at most 5.5 cm"),
        ("axial_rotation", None, -20.0, "deg", "at least 20° outward"),
        ("axial_rotation", -55.0, -20.0, "deg", "20 to 55° outward"),
        ("trunk_lean_side", -8.0, 8.0, "deg", "at most 8° either way"),
        ("trunk_lean_forward", -8.0, 11.0, "deg", "at most 8° back and 11° forward"),
        ("shoulder_elevation", -15.0, 15.0, "deg", "at most 15° either way"),
        ("shoulder_elevation", 80.0, 100.0, "deg", "80 to 100°"),
        ("shoulder_elevation", 0.0, None, "deg", "at least 0°"),
    ],
)
def test_limits_say_the_way_instead_of_a_sign(words, measure, low, high, unit, said):
    assert limits_text(measure, low, high, unit, words) == said


def test_values_say_the_way_where_their_limits_do_or_they_are_below_zero(words):
    assert value_text(Read("hip_off_line", 11.1, high=5.5), words) == "11.1 ± 1.8 cm"
    assert value_text(Read("hip_off_line", -0.8, high=5.5), words) == "0.8 ± 1.8 cm above the line"
    assert value_text(Read("hip_off_line", 3.0, low=-7.0), words) == "3.0 ± 1.8 cm below the line"
    assert value_text(Read("hip_off_line", -0.8, low=-7.0), words, bare=True) == "0.8 ± 1.8 above"
    assert value_text(Read("hip_off_line", 0.0, low=-7.0), words) == "0.0 ± 1.8 cm"
    assert value_text(Read("elbow_flexion", -3.0, high=25.0, unit="deg"), words).startswith(
        "\N{MINUS SIGN}3"
    )
    assert value_text(Read("hip_off_line", None, low=-7.0), words) == "\N{EN DASH}"


def test_what_must_never_be_passed_says_the_way_too(words):
    assert never_text("shoulder_elevation", 90.0, "deg", words, upward=True) == "never above 90°"
    assert (
        never_text("axial_rotation", -20.0, "deg", words, upward=False)
        == "never more than 20° outward"
    )
    assert (
        never_text("axial_rotation", -20.0, "deg", words, upward=True)
        == "never less than 20° outward"
    )


def test_every_measure_with_ways_has_their_short_names_too(words):
    ways, short = words.catalogue["way"], words.catalogue["way_short"]
    assert ways.keys() == short.keys()
    assert all(set(one) == {"plus", "minus"} for one in (*ways.values(), *short.values()))
