"""What is wrong with an exercise although each value alone is allowed."""

from collections.abc import Iterator, Mapping
from itertools import combinations

from formcheck.exercises.schema import REP_MEASURES, Check, Exercise, Part, Place

PLAUSIBLE: Mapping[str, tuple[float, float]] = {
    "elbow_flexion": (-30, 170),
    "shoulder_elevation": (0, 180),
    "plane_of_elevation": (-180, 180),
    "axial_rotation": (-180, 180),
    "hike": (-20, 20),
    "upper_arm_to_vertical": (0, 180),
    "protraction": (-20, 20),
    "hand_height": (-100, 150),
    "trunk_lean_side": (-90, 90),
    "trunk_lean_forward": (-90, 90),
    "trunk_turn": (-180, 180),
    "body_line": (0, 180),
    "hip_off_line": (-50, 50),
    "hold": (0, 600),
    "duration": (0, 600),
    "peak_speed": (0, 2000),
    "range": (0, 360),
    "steadiness": (0, 90),
    "roundness": (0, 1),
}
"""The values a measure can take at all, in its unit; a target outside them is a slip of the pen."""

OF_THE_TRUNK = ("trunk_lean_side", "trunk_lean_forward", "trunk_turn", "body_line", "hip_off_line")
"""Measures that belong to no arm."""

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
            f'parts "{one.name}" and "{other.name}": cannot be told apart; give a measure in '
            "recognise of both with ranges that do not meet"
            for one, other in combinations(parts, 2)
            if not _apart(one, other)
        ),
        *([] if exercise.checks or parts else ["checks: is empty; give at least one check"]),
    ]


def _apart(one: Part, other: Part) -> bool:
    """True if some measure is in different ranges in the two parts."""
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
    if check.relative and check.measure in REP_MEASURES:
        yield f'{where}.relative = true: "{check.measure}" has no value at the start'
    if check.side == "other" and check.measure in OF_THE_TRUNK:
        yield f'{where}.side = "other": "{check.measure}" does not belong to an arm'
    low, high = PLAUSIBLE[check.measure]
    if check.relative or check.statistic == "range":
        low, high = low - high, high - low
    for key, value in (("low", check.low), ("high", check.high)):
        if value is not None and not low <= value <= high:
            yield f"{where}.{key} = {value:g}: must be from {low:g} to {high:g} for {check.measure}"
