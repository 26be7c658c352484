from datetime import date

import pytest

from formcheck.errors import UsageError
from formcheck.words.words import UNKNOWN, words_for


def test_a_measured_value_never_stands_without_its_uncertainty(words):
    assert words.measured(91.2, 4.4, "deg") == "91 ± 4°"
    assert words.measured(0.84, 0.52, "cm") == "0.8 ± 0.5 cm"
    assert words.measured(10.0, 0.001, "s") == "10.0 ± 0.1 s"
    assert words.measured(None, None, "deg") == words.measured(float("nan"), 1.0, "cm") == UNKNOWN


def test_limits_read_as_people_say_them(words):
    assert words.limits(80.0, 100.0, "deg") == "80 to 100°"
    assert words.limits(None, 2.0, "cm") == "at most 2 cm"
    assert words.limits(3.0, None, "s") == "at least 3 s"


@pytest.mark.parametrize("limit", [0.5, 1.5, 2.5, 7.5, 12.4, 90.0, 0.25])
@pytest.mark.parametrize("unit", ["deg", "deg/s", "cm", "s", ""])
def test_a_limit_is_written_as_it_is_judged(words, limit, unit):
    assert words.limits(None, limit, unit) == f"at most {limit:g}{words.unit(unit)}"
    assert words.limits(-limit, limit, unit).startswith(f"\N{MINUS SIGN}{limit:g} to {limit:g}")
    assert words_for("de").limits(limit, None, "deg").endswith(f"{limit:g}°".replace(".", ","))


def test_what_a_calculation_leaves_of_a_limit_is_not_written(words):
    assert words.limits(None, 0.1 + 0.2, "cm") == "at most 0.3 cm"


@pytest.mark.parametrize(
    ("time_s", "places", "shown"),
    [
        (0.0, 0, "0:00"),
        (7.4, 0, "0:07"),
        (12.9, 0, "0:13"),
        (59.7, 0, "1:00"),
        (11.7, 1, "0:11.7"),
        (59.99, 1, "1:00.0"),
        (64.5, 1, "1:04.5"),
        (600.0, 0, "10:00"),
        (None, 0, UNKNOWN),
    ],
)
def test_moments_are_minutes_and_seconds_rounded(words, time_s, places, shown):
    assert words.moment(time_s, places) == shown


def test_numbers_below_zero_have_a_true_minus_and_zero_has_none(words):
    assert words.number(-1.44, 1) == "\N{MINUS SIGN}1.4"
    assert words.number(-0.01, 1) == "0.0"


def test_decimal_marks_and_dates_follow_the_locale():
    day = date(2026, 11, 5)
    assert words_for("en").date(day) == "5 November 2026"
    assert words_for("en-US").date(day) == "November 5, 2026"
    assert words_for("en-ZA").number(1.5, 1) == "1,5"
    assert words_for("en-ZA").moment(64.5, 1) == "1:04,5"
    assert words_for("en-US").formats.paper == "us-letter"
    assert words_for("en").formats.paper == words_for("de-CH").formats.paper == "a4"


@pytest.mark.parametrize(("locale", "decimal"), [("fr-FR", ","), ("it-CH", "."), ("pt-BR", ",")])
def test_a_place_without_a_catalogue_gets_its_marks_and_english_words(locale, decimal):
    words = words_for(locale)
    assert words.number(1.5, 1) == f"1{decimal}5"
    assert words.date(date(2026, 11, 5)) == "5 November 2026"
    assert words("language") == "en"


def test_singular_and_plural_are_told_apart(words):
    assert words.kind("rep", 1) == "repetition"
    assert words.kind("hold", 2) == "holds"


@pytest.mark.parametrize("locale", ["xx", "en-XX", "../en", ""])
def test_an_unknown_locale_is_one_clear_line(locale):
    with pytest.raises(UsageError, match=r"there is no locale .* such as en, en-GB"):
        words_for(locale)
