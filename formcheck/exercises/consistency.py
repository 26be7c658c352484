"""What is wrong with an exercise although each value alone is allowed."""

from collections.abc import Iterator, Sequence
from itertools import combinations

from formcheck.catalogue.measures import MEASURES, Scope
from formcheck.exercises.schema import CHANGES, Check, Exercise, Part, Place

_ONLY_FOR = {"hold": "hold", "steadiness": "hold", "roundness": "circle"}


def contradictions(exercise: Exercise) -> list[str]:
    """Every contradiction in ``exercise``, one line each with its key path."""
    parts = exercise.parts
    return [
        *_dose(exercise),
        *(line for check in exercise.checks for line in _check(check, exercise.movement)),
        *(
            f'parts "{part.name}".{line}'
            for part in parts
            for check in part.checks
            for line in _check(check, part.movement)
        ),
        *(
            f'parts "{part.name}".{key}: only for movement = "circle", this one is "{part.movement}"'
            for part in parts
            for key in ("turn", "count")
            if part.movement != "circle" and getattr(part, key) is not None
        ),
        *(
            f'parts "{part.name}".turn: is missing; a part of circles goes one way, so give '
            '"forward" or "backward", and the other way a part of its own'
            for part in parts
            if part.movement == "circle" and part.turn is None
        ),
        *(
            f'parts "{part.name}".checks "{check.id}": is also a check of the whole exercise, '
            "which applies to every part; leave one of them out"
            for part in parts
            for check in part.checks
            if check.id in {common.id for common in exercise.checks}
        ),
        *_places(exercise),
        *(
            f'parts "{one.name}" and "{other.name}": cannot be told apart; give a measure in '
            "recognise of both with ranges that do not meet"
            for one, other in combinations(parts, 2)
            if not _apart(one, other)
        ),
        *([] if exercise.checks or parts else ["checks: is empty; give at least one check"]),
    ]


def _places(exercise: Exercise) -> Iterator[str]:
    """Places and signs beyond what can be."""
    owners: list[tuple[str, Sequence[Place]]] = [("", exercise.recognise)]
    owners += [(f'parts "{part.name}".', part.recognise) for part in exercise.parts]
    for where, places in owners:
        for number, place in enumerate(places, start=1):
            yield from _limits(f"{where}recognise {number}", place)


def _apart(one: Part, other: Part) -> bool:
    """True if one is circles and the other not, or of the other way, or some measure differs."""
    if (one.movement == "circle") != (other.movement == "circle"):
        return True
    if one.turn and other.turn and one.turn != other.turn:
        return True
    return any(
        a.measure == b.measure and (_below(a, b) or _below(b, a))
        for a in one.recognise
        for b in other.recognise
    )


def _below(a: Place, b: Place) -> bool:
    return a.high is not None and b.low is not None and a.high < b.low


def _dose(exercise: Exercise) -> Iterator[str]:
    dose, movement = exercise.dose, exercise.movement
    if dose.hold_s is not None and movement != "hold":
        yield f'dose.hold_s = {dose.hold_s:g}: only for movement = "hold", this one is "{movement}"'
    if dose.hold_s is None and movement == "hold":
        yield 'dose.hold_s: is missing; movement = "hold" needs the seconds of one hold'
    if dose.per_direction and movement != "circle":
        yield f'dose.per_direction = true: only for movement = "circle", this one is "{movement}"'


def _check(check: Check, movement: str) -> Iterator[str]:
    where = f'checks "{check.id}"'
    only = _ONLY_FOR.get(check.measure, movement)
    if only != movement:
        yield (
            f'{where}.measure = "{check.measure}": only for movement = "{only}", '
            f'this one is "{movement}"'
        )
    if check.relative and not MEASURES[check.measure].over_time:
        yield f'{where}.relative = true: "{check.measure}" has no value at the start'
    if check.side == "other" and MEASURES[check.measure].scope is Scope.TRUNK:
        yield f'{where}.side = "other": "{check.measure}" does not belong to an arm'
    yield from _limits(where, check, change=check.relative or check.statistic in CHANGES)


def _limits(where: str, given: Check | Place, *, change: bool = False) -> Iterator[str]:
    """Limits beyond what the measure, or a change of it, can be."""
    low, high = MEASURES[given.measure].bounds
    if change:
        low, high = low - high, high - low
    for key, value in (("low", given.low), ("high", given.high)):
        if value is not None and not low <= value <= high:
            yield f"{where}.{key} = {value:g}: must be from {low:g} to {high:g} for {given.measure}"
