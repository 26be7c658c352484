"""The package's entry point: a measure table and an exercise in, repetitions out."""

from dataclasses import replace

import numpy as np

from formcheck.exercises.schema import Exercise
from formcheck.measures.table import SIDES, MeasureTable, Side
from formcheck.movements.arm_signal import ArmSignal
from formcheck.movements.at_once import joined
from formcheck.movements.circle_reps import circle_reps
from formcheck.movements.parts import find_parts
from formcheck.movements.repetitions import find_repetitions
from formcheck.movements.sets import numbered_sets
from formcheck.movements.signals import usual_range
from formcheck.movements.types import Rep

OTHER_ARM_SHARE = 0.5
"""The other arm works too if it moves at least this share of the busier one's range. A proposal."""


def working_sides(table: MeasureTable, exercise: Exercise) -> tuple[Side, ...]:
    """The sides that do the exercise in this clip: those that move enough. Empty if neither does."""
    ranges = {side: _range_of(ArmSignal.of(table, exercise, (side,))) for side in SIDES}
    most = max(ranges.values())
    least = exercise.primary.min_range
    if most < least:
        return ()
    return tuple(side for side in SIDES if ranges[side] >= max(least, OTHER_ARM_SHARE * most))


def find_reps(table: MeasureTable, exercise: Exercise, sides: tuple[Side, ...]) -> tuple[Rep, ...]:
    """Repetitions, holds or circles of the given sides, in order of time, numbered from 1.

    An exercise of both arms together is counted once, from both arms' measures; one of a single arm
    that both do at once is counted once as well. In time, repetitions come in sets.
    """
    groups = [sides] if exercise.arms == "both" else [(side,) for side in sides]
    found: list[Rep] = []
    for group in groups:
        if exercise.parts:
            found += find_parts(ArmSignal.of(table, exercise, group[:1]))
        elif exercise.movement == "circle":
            found += circle_reps(table, group[0])
        else:
            found += find_repetitions(ArmSignal.of(table, exercise, group))
    if not exercise.parts:
        found = joined(found)
        found = [
            rep
            for side in ("left", "right", "both")
            for rep in numbered_sets(
                [rep for rep in found if rep.side == side], exercise.dose.set_gap_s
            )
        ]
    found.sort(key=lambda rep: (rep.start_s, rep.side))
    return tuple(replace(rep, index=number) for number, rep in enumerate(found, start=1))


def _range_of(arm: ArmSignal) -> float:
    if not (arm.in_place & np.isfinite(arm.primary.value)).any():
        return 0.0
    return usual_range(np.where(arm.table.moving_about, np.nan, arm.primary.value))
