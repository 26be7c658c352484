"""Compound exercises: which part each repetition was, and what each cycle left out."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from formcheck.exercises.schema import Exercise, Part
from formcheck.measures.table import MeasureTable, Side
from formcheck.movements.repetitions import find_repetitions
from formcheck.movements.signals import combined
from formcheck.movements.types import Rep

MAX_MISFIT = 3.0
"""A part is not recognised when its place is missed by more than this many standard uncertainties."""


@dataclass(frozen=True, slots=True)
class Cycle:
    """One round through the parts: the repetitions in it and the names of the parts left out."""

    reps: tuple[Rep, ...]
    missing: tuple[str, ...]


def find_parts(table: MeasureTable, exercise: Exercise, side: Side) -> list[Rep]:
    """Repetitions of a compound exercise, each labelled with the part it fits best.

    The exercise's own primary measure finds them, the places of the parts tell them apart. Those
    that fit no part keep ``part`` None and do not count.
    """
    found = find_repetitions(table, exercise, (side,), side)
    labelled = []
    for rep in found:
        misfits = {part.name: misfit(table, rep, part, side) for part in exercise.parts}
        best = min(misfits, key=lambda name: misfits[name])
        part = best if misfits[best] <= MAX_MISFIT else None
        labelled.append(replace(rep, part=part, partial=rep.partial or part is None))
    return labelled


def misfit(table: MeasureTable, rep: Rep, part: Part, side: Side) -> float:
    """How far the arm was from a part's place at the top, in standard uncertainties (root of squares)."""
    top = (table.time_s >= rep.top_start_s) & (table.time_s <= rep.top_end_s)
    total = 0.0
    for place in part.recognise:
        series = combined(table, place.measure, (side,))
        known = top & np.isfinite(series.value)
        if not known.any():
            total += 1.0  # an unseen measure neither proves nor refutes the part
            continue
        value = float(np.median(series.value[known]))
        sd = float(np.median(series.sd[known]))
        below = 0.0 if place.low is None else max(place.low - value, 0.0)
        above = 0.0 if place.high is None else max(value - place.high, 0.0)
        total += (max(below, above) / sd) ** 2
    return float(np.sqrt(total))


def cycles_of(exercise: Exercise, reps: Sequence[Rep]) -> tuple[Cycle, ...]:
    """Whole repetitions of one side, in order of time, parted into rounds.

    A round ends when a part comes again or one that stands before the last one in the order.
    """
    order = [part.name for part in exercise.parts]
    rounds: list[list[Rep]] = []
    last = len(order)
    for rep in reps:
        if rep.partial or rep.part is None:
            continue
        place = order.index(rep.part)
        if place <= last:
            rounds.append([])
        rounds[-1].append(rep)
        last = place
    return tuple(
        Cycle(tuple(one), tuple(n for n in order if n not in {rep.part for rep in one}))
        for one in rounds
    )
