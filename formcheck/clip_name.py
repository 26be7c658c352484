"""Names of clips that say whose they are, what they show and when: how to give one and how to read it.

A name given is ``heron_belly-press_right_2026-03-31``. People rename files by hand, so the reader takes
any order, spaces, capitals and a number behind; it says of each part whether it is sure.
"""

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from difflib import SequenceMatcher
from typing import Literal

SIDES = ("left", "right", "both")
_SIDE_WORDS = {
    **{side: side for side in SIDES},
    **{"links": "left", "linke": "left", "rechts": "right", "rechte": "right", "beide": "both"},
}
_CAMERA = {"img", "vid", "mov", "pxl", "dsc", "video", "clip", "wa", "mvi", "trim", "copy", "edit"}
"""What cameras and senders put into names."""
_ALIKE = 0.8
"""Likeness from which a misspelt name is offered as a question (difflib ratio). A proposal."""
_LONG_AGO = timedelta(days=400)
"""A day further back is more likely misread than meant. A proposal."""

Part = Literal["client", "exercise", "side", "day"]
PARTS: tuple[Part, ...] = ("client", "exercise", "side", "day")


def clip_name(client: str, exercise: str, side: str, day: date) -> str:
    """The name to give a clip, without ending: ``heron_belly-press_right_2026-03-31``."""
    return f"{clip_stem(client, exercise, side)}_{day.isoformat()}"


def clip_stem(client: str, exercise: str, side: str) -> str:
    """The name of a clip up to its day: ``heron_belly-press_right``."""
    return "_".join((slug(client), exercise, side))


def slug(text: str) -> str:
    """Letters and digits of a text, joined by ``-``; never empty."""
    return "-".join(_tokens(text)) or "clip"


def client_in(stem: str, clients: Sequence[str]) -> str:
    """The known alias that stands in a file's name, the longest if several do; empty if none does."""
    return _known(_tokens(stem), clients)[0]


@dataclass(frozen=True, slots=True)
class Reading:
    """One part of a name as read; ``value`` is empty if it is not there.

    What is not ``sure`` must be asked about before it is used.
    """

    value: str = ""
    sure: bool = True


@dataclass(frozen=True, slots=True)
class ClipName:
    """What a clip's name says: an alias, an exercise, a side, and a day as ``2026-03-31``."""

    client: Reading
    exercise: Reading
    side: Reading
    day: Reading

    @property
    def unsure(self) -> tuple[Part, ...]:
        """The parts that were read but must be asked about."""
        return tuple(part for part in PARTS if not self.of(part).sure)

    def of(self, part: Part) -> Reading:
        """The reading of one part."""
        reading: Reading = getattr(self, part)
        return reading

    def sure(self, part: Part) -> str:
        """The value of a part if it is sure, empty otherwise."""
        reading = self.of(part)
        return reading.value if reading.sure else ""


def read_clip_name(
    stem: str, *, exercises: Sequence[str], clients: Sequence[str] = (), today: date
) -> ClipName | None:
    """What a file's name, without its ending, says; None if it is not such a name.

    A name counts as such if it has an exercise and also a side or a day. ``exercises`` are the names
    that there are, ``clients`` the aliases that are known. In a name that is not exactly as given, a
    client who is not known is what stands before the exercise, and is never sure.
    """
    if given := _as_given(stem, exercises):
        return given
    day, tokens = _day(_tokens(stem), today)
    alias, tokens = _known(tokens, clients)
    side, tokens = _side(tokens)
    if not (side.value or day.value):
        return None
    exercise, place = _exercise(tokens, exercises)
    if not exercise.value:
        return None
    return ClipName(Reading(alias) if alias else _client(tokens[:place]), exercise, side, day)


def _as_given(stem: str, exercises: Sequence[str]) -> ClipName | None:
    """The name as ``clip_name`` gives it, whatever stands behind it."""
    fields = stem.split("_")
    if len(fields) < 4 or fields[1] not in exercises or fields[2] not in SIDES:
        return None
    try:
        date.fromisoformat(fields[3][:10])
    except ValueError:
        return None
    return ClipName(*map(Reading, (*fields[:3], fields[3][:10])))


def _tokens(text: str) -> list[str]:
    normal = unicodedata.normalize("NFC", text).casefold()
    return re.findall(r"[^\W_]+", normal)


def _day(tokens: list[str], today: date) -> tuple[Reading, list[str]]:
    """The day, and the tokens without it. Day and month that could change places are unsure."""
    for at, width, day, sure in _days(tokens):
        plausible = today - _LONG_AGO <= day <= today + timedelta(days=1)
        reading = Reading(day.isoformat(), sure=sure and plausible)
        return reading, tokens[:at] + tokens[at + width :]
    return Reading(), tokens


def _days(tokens: list[str]) -> Iterator[tuple[int, int, date, bool]]:
    """Where a day may stand, how many tokens it takes, the day, and whether it is beyond doubt."""
    for at, token in enumerate(tokens):
        three = tokens[at : at + 3]
        width, sure = 3, True
        if re.fullmatch(r"20[0-9]{6}", token):
            width, year, month, day = 1, token[:4], token[4:6], token[6:]
        elif len(three) < 3 or not all(re.fullmatch("[0-9]{1,4}", one) for one in three):
            continue
        elif len(token) == 4:
            year, month, day = three
        else:
            day, month, year = three
            sure = int(day) > 12 or int(month) > 12 or day == month
            if int(month) > 12:
                day, month = month, day
        try:
            yield at, width, date(int(year), int(month), int(day)), sure
        except ValueError:
            continue


def _exercise(tokens: list[str], names: Sequence[str]) -> tuple[Reading, int]:
    """The exercise and where it stands; the longest name that fits, or else the one most like it."""
    stand = [
        (len(name), -at, name)
        for name in names
        for at in range(len(tokens))
        for width in range(1, len(name.split("-")) + 1)
        if "".join(tokens[at : at + width]) == name.replace("-", "")
    ]
    if not stand:
        return _misspelt(tokens, names)
    _, place, name = max(stand)
    others = {other for _, _, other in stand if other not in name}
    return Reading(name, sure=not others), -place


def _misspelt(tokens: list[str], names: Sequence[str]) -> tuple[Reading, int]:
    best = (_ALIKE, "", 0)
    for name in names:
        plain = name.replace("-", "")
        for at in range(len(tokens)):
            for width in range(1, len(name.split("-")) + 1):
                written = "".join(tokens[at : at + width])
                match = SequenceMatcher(None, written, plain, autojunk=False)
                if match.real_quick_ratio() > best[0] and match.ratio() > best[0]:
                    best = (match.ratio(), name, at)
    return Reading(best[1], sure=not best[1]), best[2]


def _side(tokens: list[str]) -> tuple[Reading, list[str]]:
    found = [token for token in tokens if token in _SIDE_WORDS]
    sides = {_SIDE_WORDS[token] for token in found}
    if not sides:
        return Reading(), tokens
    value = sides.pop() if len(sides) == 1 else "both"
    rest = [token for token in tokens if token not in _SIDE_WORDS]
    return Reading(value, sure=len(set(found)) == 1), rest


def _known(tokens: list[str], clients: Sequence[str]) -> tuple[str, list[str]]:
    """A known alias anywhere in the name, the longest first, and the tokens without it."""
    for alias in sorted(clients, key=len, reverse=True):
        words = _tokens(alias)
        for at in range(len(tokens)):
            if words and tokens[at : at + len(words)] == words:
                return alias, tokens[:at] + tokens[at + len(words) :]
    return "", tokens


def _client(before: list[str]) -> Reading:
    """What stands before the exercise and is of no camera; never sure, as anything may stand there."""
    left = [token for token in before if token not in _CAMERA and not token.isdigit()]
    return Reading("-".join(left), sure=not left)
