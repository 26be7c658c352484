"""Words and numbers for people: one catalogue of sentences a language, the formats of a place.

A locale is ``language`` or ``language-REGION`` (``en``, ``en-ZA``, ``de-CH``). The language chooses
the catalogue ``data/strings.<language>.toml``, English where there is none and for whatever it lacks;
the whole locale chooses decimal mark, date and paper by the Unicode CLDR.
"""

import math
import string
import tomllib
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from importlib import resources
from typing import Any

from babel import Locale, UnknownLocaleError
from babel.dates import format_date, format_skeleton
from babel.numbers import get_decimal_symbol

from formcheck.catalogue.codes import Message
from formcheck.errors import UsageError
from formcheck.text import capitalise_first

_PLACES = {"deg": 0, "deg/s": 0, "cm": 1, "cm/s": 1, "s": 1}
MOST_PLACES = 4
"""Places of a number that somebody set; more are what is left of a calculation. Mechanical."""
_DATA = "data"
FALLBACK = "en"
_WORLD = Locale("en", "001")
_LETTER_REGIONS = (
    *("BZ", "CA", "CL", "CO", "CR", "GT", "MX"),
    *("NI", "PA", "PH", "PR", "SV", "US", "VE"),
)
"""Where paper is US Letter (CLDR, supplemental data, paperSize; from memory)."""
_NO_SHARP_S = ("CH", "LI")
"""Where German is written with ss instead of sharp s."""
UNKNOWN = "\N{EN DASH}"


@dataclass(frozen=True, slots=True)
class Formats:
    """How a place writes numbers and dates, and on what paper."""

    decimal: str
    dates: Locale
    paper: str


@dataclass(frozen=True, slots=True)
class Words:
    """The sentences of one language and the formats of one place."""

    locale: str
    catalogue: dict[str, Any]
    formats: Formats

    def __call__(self, key: str, /, **values: object) -> str:
        """The sentence under a dotted key, its braces filled in. KeyError if there is none."""
        entry: Any = self.catalogue
        for part in key.split("."):
            entry = entry[part]
        return _Filler(self).vformat(str(entry), (), values) if values else str(entry)

    def tell(self, said: Message | str) -> str:
        """The sentence of a message, its parameters written as the sentence wants them; an
        exercise's own words as they are, where the catalogue does not translate them.
        """
        if isinstance(said, str):
            return str(self.catalogue["own_words"].get(said, said))
        return self(said.key, **said.params)

    def is_foreign(self, said: Message | str) -> bool:
        """True of an exercise's own words, which are English, that the catalogue does not translate."""
        own = isinstance(said, str) and said not in self.catalogue["own_words"]
        return own and self("language") != FALLBACK

    def knows(self, table: str, name: str) -> bool:
        """True if the catalogue's table holds that name."""
        return name in self.catalogue[table]

    def count(self, key: str, number: int, /, **values: object) -> str:
        """The singular or plural form under a key, with ``count`` filled in."""
        return self(f"{key}.{'one' if number == 1 else 'other'}", count=number, **values)

    def kind(self, kind: str, number: int = 1) -> str:
        """``repetition``, ``holds``, ...: the word for a kind of movement."""
        return self(f"kind.{kind}.{'one' if number == 1 else 'other'}")

    def number(self, value: float | None, places: int) -> str:
        """A number with the locale's decimal mark and a true minus sign; a dash where unknown."""
        if value is None or not math.isfinite(value):
            return UNKNOWN
        text = f"{round(value, places) + 0.0:.{places}f}"
        return text.replace(".", self.formats.decimal).replace("-", "\N{MINUS SIGN}")

    def unit(self, unit: str) -> str:
        """How a unit is written behind a number."""
        return str(self.catalogue["unit"].get(unit, f" {unit}" if unit else ""))

    def quantity(self, value: float | None, unit: str) -> str:
        """A number with its unit, as many places as make sense for the unit."""
        shown = self.number(value, _PLACES.get(unit, 2))
        return shown if shown == UNKNOWN else shown + self.unit(unit)

    def measured(self, value: float | None, uncertainty: float | None, unit: str) -> str:
        """``91 ± 4°``; a dash where unknown."""
        if value is None or not math.isfinite(value):
            return UNKNOWN
        places = _PLACES.get(unit, 2)
        spread = max(uncertainty or 0.0, 10.0**-places)  # never "± 0"
        return f"{self.number(value, places)} ± {self.number(spread, places)}{self.unit(unit)}"

    def exact(self, value: float, unit: str) -> str:
        """A number that somebody set, with every place of it: what is judged is what is read."""
        decimals = f"{value:.{MOST_PLACES}f}".rstrip("0").partition(".")[2]
        return self.number(value, len(decimals)) + self.unit(unit)

    def limits(self, low: float | None, high: float | None, unit: str) -> str:
        """``80 to 100°``, ``at most 2,5 cm``."""
        if low is None:
            return (
                self("limits.none")
                if high is None
                else self("limits.at_most", high=self.exact(high, unit))
            )
        if high is None:
            return self("limits.at_least", low=self.exact(low, unit))
        return self("limits.between", low=self.exact(low, ""), high=self.exact(high, unit))

    def moment(self, time_s: float | None, places: int = 0) -> str:
        """A place in the clip as minutes and seconds, rounded: ``0:12``, ``1:04.5``."""
        if time_s is None or not math.isfinite(time_s):
            return UNKNOWN
        ticks = math.floor(max(time_s, 0.0) * 10**places + 0.5)
        minutes, rest = divmod(ticks, 60 * 10**places)
        width = 2 if places == 0 else 3 + places
        seconds = f"{rest / 10**places:0{width}.{places}f}"
        return f"{minutes}:{seconds}".replace(".", self.formats.decimal)

    def share(self, value: float) -> str:
        """A share of one as a percentage."""
        return f"{self.number(100 * value, 0)} %" if math.isfinite(value) else UNKNOWN

    def short_date(self, day: date) -> str:
        """A day and its month, for the axis of a chart."""
        return format_skeleton("MMMd", day, locale=self.formats.dates)

    def weekday(self, day: date) -> str:
        """The short name of a day of the week, for the head of a calendar."""
        return format_date(day, "EEE", locale=self.formats.dates)

    def date(self, day: date) -> str:
        """A date with the month in words."""
        return format_date(day, "long", locale=self.formats.dates)


def as_invented(words: Words) -> Words:
    """The same words, with a line on every page that says that nobody on it is real."""
    page = words.catalogue["page"]
    mark = " ".join(filter(None, (page["invented"], page["draft"])))
    return replace(words, catalogue={**words.catalogue, "page": {**page, "draft": mark}})


class _Filler(string.Formatter):
    """Fills braces in. ``{at_s:moment}`` or ``{lean_deg:deg}`` says how a value is written, and
    ``{views:filmed_from|or}`` how the last of several is joined to those before it.
    """

    def __init__(self, words: Words) -> None:
        self._words = words

    def format_field(self, value: Any, format_spec: str) -> str:  # noqa: ANN401 - any value
        """One value, or several of one kind."""
        how, _, joint = format_spec.partition("|")
        if not isinstance(value, (list, tuple)):
            return self._one(value, how)
        *before, last = (self._one(one, how) for one in value)
        if not before:
            return last
        return self._words(f"list.{joint}", before=", ".join(before), last=last)

    def _one(self, value: Any, how: str) -> str:  # noqa: ANN401
        """A unit, ``moment``, ``percent``, ``capitalised``, a table of names (``view``), or one of
        Python's own formats.
        """
        words = self._words
        if how == "moment":
            return words.moment(value)
        if how == "percent":
            return words.share(value)
        if how == "capitalised":
            return capitalise_first(value)
        if how in _PLACES or (not how and isinstance(value, float)):
            return words.quantity(value, how)
        if isinstance(words.catalogue.get(how), dict):
            return words(f"{how}.{value}")
        return str(super().format_field(value, how))


def words_for(locale: str, language: str | None = None) -> Words:
    """The words for a locale such as ``en``, ``en-ZA`` or ``de-CH``.

    ``language`` is another language than the locale's own, for its formats with other words.

    Raises
    ------
    UsageError
        There is no such locale.
    """
    try:
        place = Locale.parse(locale, sep="-")
    except (UnknownLocaleError, ValueError) as error:
        raise UsageError(
            f"there is no locale {locale!r}; give a language, or a language and a region, "
            "such as en, en-GB, en-ZA, de-CH or fr-CA"
        ) from error
    wanted = language or place.language
    known = (resources.files(__package__) / _DATA / _strings(wanted)).is_file()
    language = wanted if known else FALLBACK
    formats = Formats(
        decimal=get_decimal_symbol(place),
        dates=_dates(place, language),
        paper="us-letter" if place.territory in _LETTER_REGIONS else "a4",
    )
    return Words(locale, _catalogue(language, sharp_s=place.territory not in _NO_SHARP_S), formats)


def _dates(place: Locale, language: str) -> Locale:
    """How to write dates among words of a language: as the place does, if it is known for it."""
    try:
        return Locale(language, place.territory) if place.territory else _in_general(language)
    except UnknownLocaleError:
        return _in_general(language)


def _in_general(language: str) -> Locale:
    """English without a region is the world's, not one country's."""
    return _WORLD if language == FALLBACK else Locale(language)


def _strings(language: str) -> str:
    return f"strings.{language}.toml"


@cache
def _catalogue(language: str, *, sharp_s: bool = True) -> dict[str, Any]:
    """The sentences of a language, and English ones where it has none."""
    text = (resources.files(__package__) / _DATA / _strings(language)).read_text("utf-8")
    own = tomllib.loads(text if sharp_s else text.replace("ß", "ss"))
    return own if language == FALLBACK else _over(_catalogue(FALLBACK), own)


def _over(below: dict[str, Any], above: dict[str, Any]) -> dict[str, Any]:
    """One catalogue with the entries of another instead of its own, key by key."""
    inner = {
        key: _over(below[key], entry)
        for key, entry in above.items()
        if isinstance(entry, dict) and isinstance(below.get(key), dict)
    }
    return {**below, **above, **inner}
