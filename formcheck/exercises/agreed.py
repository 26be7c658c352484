"""What a client is told of limits that a programme changed, where it gives no words of its own.

The library's cues are written for the library's limits: "up to shoulder height" is wrong for who
agreed on less, and says nothing to who went further than was agreed. There the number is told.
"""

from collections.abc import Sequence

from formcheck.exercises.schema import Check, Exercise
from formcheck.exercises.vocabulary import MEASURES

_UNIT = {"deg": "°", "of primary": "", "0 to 1": ""}


def at_most(value: float, measure: str) -> str:
    """``at most 90°``."""
    return f"at most {_amount(value, measure)}"


def at_least(value: float, measure: str) -> str:
    """``at least 60°``."""
    return f"at least {_amount(value, measure)}"


def with_agreed_cues(library: Exercise, own: Exercise) -> Exercise:
    """``own`` with cues that fit the ends of targets that differ from those of ``library``."""
    parts_before = {part.name: part.checks for part in library.parts}
    parts = tuple(
        part.model_copy(update={"checks": _all(parts_before.get(part.name, ()), part.checks)})
        for part in own.parts
    )
    return own.model_copy(update={"checks": _all(library.checks, own.checks), "parts": parts})


def _all(before: Sequence[Check], now: Sequence[Check]) -> tuple[Check, ...]:
    known = {check.id: check for check in before}
    return tuple(_agreed(known[check.id], check) if check.id in known else check for check in now)


def _agreed(was: Check, now: Check) -> Check:
    if now.cue != was.cue:
        return now
    name = now.id.replace("-", " ").capitalize()
    cues = {}
    if now.high is not None and now.cue_above == was.cue_above and _new(was.high, now.high, now):
        cues["cue_above"] = f"{name}: {at_most(now.high, now.measure)}, as was agreed with you."
    if now.low is not None and now.cue_below == was.cue_below and _new(now.low, was.low, now):
        cues["cue_below"] = f"{name}: {at_least(now.low, now.measure)}, as was agreed with you."
    return now.model_copy(update=cues)


def _new(lesser: float | None, greater: float | None, now: Check) -> bool:
    """Whether an end was added, or a range made easier than the library's words may ask for."""
    if lesser is None or greater is None:
        return True
    return now.importance == "range" and lesser < greater


def _amount(value: float, measure: str) -> str:
    unit = MEASURES[measure].unit
    return f"{value:g}{_UNIT.get(unit, f' {unit}')}"
