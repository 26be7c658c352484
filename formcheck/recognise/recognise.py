"""The package's entry point: a measure table and exercises in, the likeliest exercises and sides out."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, inf, log
from typing import Literal

import numpy as np

from formcheck.checks.statistics import read_check
from formcheck.exercises.schema import Exercise
from formcheck.measures.table import SIDES, MeasureTable, Side
from formcheck.movements.both_arms import move_together
from formcheck.movements.circle_reps import circle_reps
from formcheck.movements.rounds import rounds_of
from formcheck.movements.segment import find_reps, working_sides
from formcheck.movements.signals import EXTREME_PERCENTILES, REST_S, combined
from formcheck.movements.types import Rep
from formcheck.recognise.likelihood import (
    binary_log_ratio,
    range_log_ratio,
    target_log_ratio,
    top_log_ratio,
)
from formcheck.recognise.position import surely_upright, upright_share
from formcheck.recognise.traits import Trait, distinguishable, traits_of, upright

TEMPER = 0.9
"""Readings of one arm are correlated, so that their evidence is not simply added up; chosen so that
what is called sure is right, on people that no weight was fitted to. Read on rendered people."""
PART_MISSING = 0.05
"""How often a part of a round is left out. A proposal."""
UNEVEN_RATIO = 1.8
"""Repetitions of one movement hardly differ by more than this factor; parts of a round do.
A proposal."""
UNEVEN_IN_PARTS, UNEVEN_IN_ONE, UNEVEN_IN_ANY = 0.9, 0.05, 0.15
"""How often they do in exercises of parts, in those of one movement, and in anything. A proposal."""
UNEVEN_PACE, UNEVEN_PACE_IN_ANY = 0.08, 0.5
"""How often repetitions of one movement differ by more than that factor in the time they take, and how
often whatever people do with their arms does. A proposal."""
SINGLE, SINGLE_ELSEWHERE = 0.03, 0.4
"""How often a clip of an exercise holds a single repetition or round, and how often a clip of anything
else does: a door is opened once. A proposal."""
NONE_WEIGHT = 11.0
"""What no exercise in particular counts for beside them: enough that of fifty movements of daily life, each
as a stick figure from six sides, at most one in fifty is surely taken for an exercise. A proposal."""
UPRIGHT_SHARE = {True: 0.97, None: 0.85, False: 0.03}
"""How often the trunk is upright where it should be, may be, and should not be. A proposal."""
UPRIGHT_IN_ANY = 0.8
"""How often it is in anything. A proposal."""
FROM_REST, FROM_REST_IN_ANY = 0.9, 0.5
"""How often a clip begins and ends where the effort starts from, and in anything. A proposal."""
TOGETHER_IN_BOTH, TOGETHER_IN_ONE, TOGETHER_IN_ANY = 0.95, 0.1, 0.3
"""How often the arms move together in exercises of both, of one, and in anything. A proposal."""
MIN_ROUNDNESS = 0.3
"""Movements at least so round are circles; from the side they look half as wide as long.
Read on rendered people."""
FEW_CIRCLES, MANY_CIRCLES = 1, 3
"""So few full circles may be chance; from so many the arm goes round. A proposal."""
CIRCLE_SHARES = {True: (0.2, 0.35, 0.45), False: (0.91, 0.08, 0.01), None: (0.85, 0.1, 0.05)}
"""How often there are none, few and many full circles in exercises of circles, in other exercises
and in anything. The first lie between rendered clips, which hold few, and full sets; the second are
as in rendered clips; the last are our own choice. Read on rendered people."""
_MAX_SCORE = 500.0
"""Keeps the exponential of a score finite. Mechanical."""


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
    circles = {side: _full_circles(table, side) for side in SIDES}
    for exercise in distinguishable(exercises):
        sides = SIDES if exercise.arms == "both" else working_sides(table, exercise)
        most = max((circles[side] for side in sides), default=0)
        score = TEMPER * _evidence(table, exercise, sides, most) if sides else -inf
        if score > -inf:
            side: Literal["left", "right", "both"] = "both" if len(sides) == 2 else sides[0]
            scored.append((score, exercise, side))
    scored.sort(key=lambda entry: -entry[0])
    weights = [exp(min(score, _MAX_SCORE)) for score, *_ in scored]
    total = NONE_WEIGHT + sum(weights)
    return tuple(
        Guess(exercise, side, weight / total)
        for weight, (_, exercise, side) in zip(weights, scored, strict=True)
    )


def _evidence(
    table: MeasureTable, exercise: Exercise, sides: tuple[Side, ...], circles: int
) -> float:
    """Log ratio of all that is seen under this exercise to no exercise in particular."""
    whole = [rep for rep in find_reps(table, exercise, sides) if not rep.partial]
    if not whole:
        return -inf
    return (
        _place_evidence(table, exercise, whole)
        + _movement_evidence(exercise, circles, whole)
        + _count_evidence(exercise, whole)
        + _rest_evidence(table, exercise, sides)
        + _position_evidence(table, exercise)
        + _both_arms_evidence(table, exercise)
    )


def _place_evidence(table: MeasureTable, exercise: Exercise, whole: Sequence[Rep]) -> float:
    """Where the arm is in the repetitions: their mean, as their errors are one bias of the clip."""
    each = [_rep_evidence(table, traits_of(exercise, rep.part), rep) for rep in whole]
    evidence = float(np.mean(each))
    if exercise.parts:
        if len({rep.part for rep in whole}) == 1:
            return -inf
        missing = sum(len(one.missing) for one in rounds_of(exercise, whole))
        evidence += missing * log(PART_MISSING)
    return evidence


def _rep_evidence(table: MeasureTable, traits: Sequence[Trait], rep: Rep) -> float:
    total = 0.0
    for trait in traits:
        seen = read_check(table, rep, trait.check)
        if seen.value is not None and seen.sd is not None:
            target = trait.low, trait.high
            total += target_log_ratio(seen.value, seen.sd, target, trait.bounds, trait.unit)
    return total


def _movement_evidence(exercise: Exercise, circles: int, whole: Sequence[Rep]) -> float:
    """Whether it is a repetition, a hold or a circle, and how large."""
    sizes = np.array([rep.measures["range"].value for rep in whole])
    sizes = sizes[np.isfinite(sizes)]
    if not len(sizes):
        return -inf
    grade = (circles >= FEW_CIRCLES) + (circles >= MANY_CIRCLES)
    circle = exercise.movement == "circle"
    evidence = 0.0 if exercise.parts else _pace_evidence(whole)
    evidence += log(CIRCLE_SHARES[circle][grade] / CIRCLE_SHARES[None][grade])
    evidence += range_log_ratio(float(np.median(sizes)), exercise.primary.min_range)
    if circle:
        return evidence
    top_s = float(np.median([rep.top_end_s - rep.top_start_s for rep in whole]))
    held_s = exercise.dose.hold_s if exercise.movement == "hold" else None
    uneven = bool(sizes.max() > UNEVEN_RATIO * sizes.min())
    share = UNEVEN_IN_PARTS if exercise.parts else UNEVEN_IN_ONE
    evidence += binary_log_ratio(uneven, share, UNEVEN_IN_ANY)
    return evidence + top_log_ratio(top_s, held_s)


def _pace_evidence(whole: Sequence[Rep]) -> float:
    """Whether all take about as long, as people do who count; one alone tells nothing."""
    times_s = [rep.end_s - rep.start_s for rep in whole]
    if len(times_s) < 2:
        return 0.0
    uneven = max(times_s) > UNEVEN_RATIO * min(times_s)
    return binary_log_ratio(uneven, UNEVEN_PACE, UNEVEN_PACE_IN_ANY)


def _count_evidence(exercise: Exercise, whole: Sequence[Rep]) -> float:
    """Whether it is done more than once, as a set is."""
    done = rounds_of(exercise, whole) if exercise.parts else whole
    return binary_log_ratio(len(done) == 1, SINGLE, SINGLE_ELSEWHERE)


def _full_circles(table: MeasureTable, side: Side) -> int:
    """How often the arm goes round and not just there and back."""
    found = [rep for rep in circle_reps(table, side) if not rep.partial]
    return sum(rep.measures["roundness"].value > MIN_ROUNDNESS for rep in found)


def _rest_evidence(table: MeasureTable, exercise: Exercise, sides: tuple[Side, ...]) -> float:
    """Whether the clip begins and ends at the end of the range from which the effort goes out."""
    value = combined(table, exercise.primary.measure, sides).value
    known = np.isfinite(value)
    edge = np.minimum(table.time_s - table.time_s[0], table.time_s[-1] - table.time_s) <= REST_S
    if exercise.movement == "circle" or not (edge & known).any():
        return 0.0
    low, high = np.percentile(value[known], EXTREME_PERCENTILES)
    below = float(np.median(value[edge & known])) < (low + high) / 2
    from_rest = below == (exercise.primary.direction == "rise")
    return binary_log_ratio(from_rest, FROM_REST, FROM_REST_IN_ANY)


def _position_evidence(table: MeasureTable, exercise: Exercise) -> float:
    share = upright_share(table)
    if share is None:
        return 0.0
    if surely_upright(table) and upright(exercise) is False:
        return -inf
    return binary_log_ratio(share > 0.5, UPRIGHT_SHARE[upright(exercise)], UPRIGHT_IN_ANY)


def _both_arms_evidence(table: MeasureTable, exercise: Exercise) -> float:
    """Both arms together or not, where both are seen."""
    together = move_together(table, exercise.primary.measure)
    if together is None:
        return 0.0
    share = TOGETHER_IN_BOTH if exercise.arms == "both" else TOGETHER_IN_ONE
    return binary_log_ratio(together, share, TOGETHER_IN_ANY)
