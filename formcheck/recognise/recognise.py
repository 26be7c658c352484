"""The door of the room: a measure table and exercises in, the likeliest exercises and sides out."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, inf, log
from typing import Literal

import numpy as np

from formcheck.checks.statistics import read_check
from formcheck.exercises.schema import Exercise
from formcheck.measures.table import SIDES, MeasureTable, Side
from formcheck.movements.circle_reps import circle_reps
from formcheck.movements.rounds import rounds_of
from formcheck.movements.segment import find_reps, working_sides
from formcheck.movements.signals import combined, usual_range
from formcheck.movements.types import Rep
from formcheck.recognise.likelihood import of_fact, of_range, of_target, of_top
from formcheck.recognise.position import upright_share
from formcheck.recognise.traits import Trait, families, traits_of, upright

TEMPER = 0.9
"""Readings of one arm go together, so that their evidence is not simply added up; chosen so that
what is called sure is right, on people that no weight was fitted to. Read on rendered people."""
LEFT_OUT = 0.05
"""How often a part of a round is left out. A proposal."""
UNEVEN = 1.8
"""Repetitions of one movement hardly differ by more than this factor; parts of a round do. A
proposal."""
UPRIGHT_SHARE = {True: 0.97, None: 0.85, False: 0.03}
"""How often the trunk is upright where it should be, may be, and should not be. A proposal."""
REST_S = 1.0
"""The arm is taken to rest for this long at the beginning and the end of the clip. A proposal."""
OPEN = 0.3
"""Turns at least so round are circles; from the side they look half as wide as long. Read on
rendered people."""
CIRCLES = (1, 3)
"""So few full turns may be chance; from so many the arm goes round. A proposal."""
TURNING = {True: (0.2, 0.35, 0.45), False: (0.91, 0.08, 0.01), None: (0.85, 0.1, 0.05)}
"""How often there are none, few and many full turns in circles, in other exercises and in
anything. Circles lie between rendered clips, which hold few, and full sets; other exercises are as
in rendered clips; in anything is our own choice. Read on rendered people."""
TOGETHER = 0.7
"""Correlation from which two arms count as working together. A proposal."""


@dataclass(frozen=True, slots=True)
class Guess:
    """An exercise and side with the probability that the clip shows it."""

    exercise: Exercise
    side: Literal["left", "right", "both"]
    probability: float


def recognise(table: MeasureTable, exercises: Sequence[Exercise]) -> tuple[Guess, ...]:
    """The exercises that the clip may show, likeliest first.

    What is missing of 1 is the probability that it is none of them. Variants that a camera cannot
    tell from the exercise they are like share that one's place.
    """
    scored = []
    turns = {side: _full_turns(table, side) for side in SIDES}
    for exercise in families(exercises):
        sides = SIDES if exercise.arms == "both" else working_sides(table, exercise)
        most = max((turns[side] for side in sides), default=0)
        score = TEMPER * _evidence(table, exercise, sides, most) if sides else -inf
        if score > -inf:
            side: Literal["left", "right", "both"] = "both" if len(sides) == 2 else sides[0]
            scored.append((score, exercise, side))
    scored.sort(key=lambda entry: -entry[0])
    weights = [exp(min(score, 500.0)) for score, *_ in scored]
    total = 1.0 + sum(weights)
    return tuple(
        Guess(exercise, side, weight / total)
        for weight, (_, exercise, side) in zip(weights, scored, strict=True)
    )


def _evidence(
    table: MeasureTable, exercise: Exercise, sides: tuple[Side, ...], turns: int
) -> float:
    """Log ratio of all that is seen under this exercise to no exercise in particular."""
    whole = [rep for rep in find_reps(table, exercise, sides) if not rep.partial]
    if not whole:
        return -inf
    return (
        _of_arm(table, exercise, whole)
        + _of_kind(exercise, turns, whole)
        + _of_rest(table, exercise, sides)
        + _of_position(table, exercise)
        + _of_arms(table, exercise)
    )


def _of_arm(table: MeasureTable, exercise: Exercise, whole: Sequence[Rep]) -> float:
    """Where the arm is in the repetitions: their mean, as their errors are one bias of the clip."""
    evidence = float(np.mean([_of_rep(table, traits_of(exercise, rep.part), rep) for rep in whole]))
    if exercise.parts:
        if len({rep.part for rep in whole}) == 1:
            return -inf
        evidence += sum(len(one.missing) for one in rounds_of(exercise, whole)) * log(LEFT_OUT)
    return evidence


def _of_rep(table: MeasureTable, traits: Sequence[Trait], rep: Rep) -> float:
    total = 0.0
    for trait in traits:
        seen = read_check(table, rep, trait.check)
        if seen.value is not None and seen.sd is not None:
            total += of_target(
                seen.value, seen.sd, (trait.low, trait.high), trait.bounds, trait.unit
            )
    return total


def _of_kind(exercise: Exercise, turns: int, whole: Sequence[Rep]) -> float:
    """A repetition, a hold or a circle, and its size."""
    sizes = np.array([rep.measures["range"].value for rep in whole])
    sizes = sizes[np.isfinite(sizes)]
    if not len(sizes):
        return -inf
    grade = sum(turns >= least for least in CIRCLES)
    circle = exercise.movement == "circle"
    evidence = log(TURNING[circle][grade] / TURNING[None][grade])
    evidence += of_range(float(np.median(sizes)), exercise.primary.min_range)
    if circle:
        return evidence
    top_s = float(np.median([rep.top_end_s - rep.top_start_s for rep in whole]))
    held_s = exercise.dose.hold_s if exercise.movement == "hold" else None
    uneven = bool(sizes.max() > UNEVEN * sizes.min())
    return evidence + of_fact(uneven, 0.9 if exercise.parts else 0.05, 0.15) + of_top(top_s, held_s)


def _full_turns(table: MeasureTable, side: Side) -> int:
    """How often the arm goes round and not just there and back."""
    found = [rep for rep in circle_reps(table, side) if not rep.partial]
    return sum(rep.measures["roundness"].value > OPEN for rep in found)


def _of_rest(table: MeasureTable, exercise: Exercise, sides: tuple[Side, ...]) -> float:
    """Whether the clip begins and ends at the end of the range from which the effort goes out."""
    value = combined(table, exercise.primary.measure, sides).value
    known = np.flatnonzero(np.isfinite(value))
    edge = np.minimum(table.time_s - table.time_s[0], table.time_s[-1] - table.time_s) <= REST_S
    if exercise.movement == "circle" or not edge[known].any():
        return 0.0
    low, high = np.percentile(value[known], [3, 97])
    below = float(np.median(value[edge & np.isfinite(value)])) < (low + high) / 2
    return of_fact(below == (exercise.primary.direction == "rise"), 0.9, 0.5)


def _of_position(table: MeasureTable, exercise: Exercise) -> float:
    share = upright_share(table)
    return 0.0 if share is None else of_fact(share > 0.5, UPRIGHT_SHARE[upright(exercise)], 0.8)


def _of_arms(table: MeasureTable, exercise: Exercise) -> float:
    """Both arms together or not, where both are seen."""
    left, right = (combined(table, exercise.primary.measure, (side,)).value for side in SIDES)
    both = np.isfinite(left) & np.isfinite(right)
    if both.mean() < 0.5:
        return 0.0
    ranges = sorted((usual_range(left), usual_range(right)))
    together = ranges[0] > 0.5 * ranges[1] and np.corrcoef(left[both], right[both])[0, 1] > TOGETHER
    return of_fact(bool(together), 0.95 if exercise.arms == "both" else 0.1, 0.3)
