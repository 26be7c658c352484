"""The door of the room: a measure table and an exercise in, repetitions out."""

from dataclasses import replace

import numpy as np

from formcheck.exercises.schema import Exercise
from formcheck.measures.table import SIDES, ArmPath, MeasureTable, Side
from formcheck.movements.circles import Turn, find_circles
from formcheck.movements.parts import find_parts
from formcheck.movements.repetitions import find_repetitions
from formcheck.movements.signals import (
    bridged,
    combined,
    known_pieces,
    usual_range,
    while_moving_about,
)
from formcheck.movements.types import Rep

OTHER_ARM_SHARE = 0.5
"""The other arm works too if it moves at least this share of the busier one's range."""
CIRCLE_DURATION_SD_S = 0.15
RADIUS_SHARE_SD = 0.3
"""Foreshortening changes the radius of a circle by up to about a third."""
ROUNDNESS_SD = 0.15
"""A true circle reads 0.65-0.85 on rendered people, from foreshortening."""


def working_sides(table: MeasureTable, exercise: Exercise) -> tuple[Side, ...]:
    """The sides that do the exercise in this clip: those that move enough. Empty if neither does."""
    ranges = {side: _range_of(table, exercise, side) for side in SIDES}
    most = max(ranges.values())
    least = exercise.primary.min_range
    if most < least:
        return ()
    return tuple(side for side in SIDES if ranges[side] >= max(least, OTHER_ARM_SHARE * most))


def find_reps(table: MeasureTable, exercise: Exercise, sides: tuple[Side, ...]) -> tuple[Rep, ...]:
    """Repetitions, holds or circles of the given sides, in order of time, numbered from 1.

    An exercise of both arms together is counted once, from both arms' measures.
    """
    groups = [sides] if exercise.arms == "both" else [(side,) for side in sides]
    found: list[Rep] = []
    for group in groups:
        name = group[0] if len(group) == 1 else "both"
        if exercise.parts:
            found += find_parts(table, exercise, group[0])
        elif exercise.movement == "circle":
            found += _circles(table, group[0])
        else:
            found += find_repetitions(table, exercise, group, name)
    found.sort(key=lambda rep: (rep.start_s, rep.side))
    return tuple(replace(rep, index=number) for number, rep in enumerate(found, start=1))


def _range_of(table: MeasureTable, exercise: Exercise, side: Side) -> float:
    value = combined(table, exercise.primary.measure, (side,)).value
    return usual_range(np.where(table.moving_about, np.nan, value))


def _circles(table: MeasureTable, side: Side) -> list[Rep]:
    path = table.arm_paths[side]
    everywhere = path.direction[:, 0] + path.image[:, 0] + path.toward_camera
    found = []
    for piece in known_pieces(table, everywhere):
        times = table.time_s[piece]
        whole = ArmPath(
            direction=bridged(times, path.direction[piece]),
            image=bridged(times, path.image[piece]),
            toward_camera=bridged(times, path.toward_camera[piece]),
        )
        found += [
            _circle(turn, side)
            for turn in find_circles(times, whole)
            if not while_moving_about(table, turn.start_s, turn.end_s)
        ]
    return found


def _circle(turn: Turn, side: Side) -> Rep:
    middle_s = (turn.start_s + turn.end_s) / 2
    width_deg = 2 * turn.radius_deg
    return Rep(
        index=0,
        kind="circle",
        side=side,
        partial=not turn.complete,
        start_s=turn.start_s,
        top_start_s=middle_s,
        top_end_s=middle_s,
        end_s=turn.end_s,
        direction=turn.direction,
        own={
            "duration": (turn.end_s - turn.start_s, CIRCLE_DURATION_SD_S, "s"),
            "range": (width_deg, RADIUS_SHARE_SD * width_deg / 2, "deg"),
            "roundness": (turn.roundness, ROUNDNESS_SD, ""),
        },
    )
