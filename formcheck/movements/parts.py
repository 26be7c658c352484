"""Compound exercises: which part each repetition was, and what each round left out."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

import numpy as np

from formcheck.exercises.schema import Exercise, Part
from formcheck.measures.table import MEASURE_UNITS, MeasureTable, Series, Side
from formcheck.movements.repetitions import find_repetitions, hold_measures, own_measures
from formcheck.movements.signals import bridged, combined, known_pieces, while_moving_about
from formcheck.movements.stays import Stay, find_stays
from formcheck.movements.types import Rep

MAX_BEFORE_S = 3.0
"""What was broken off so shortly before the first part of a round belongs to that round."""
MAX_MISFIT = 3.0
"""A part is not recognised when its place is missed by more than this many standard uncertainties."""


@dataclass(frozen=True, slots=True)
class Cycle:
    """One round through the parts.

    ``missing`` are the names of the parts left out. They are ``certain`` to be if nothing broken
    off or unrecognised lies in the round that could have been one of them. ``in_order`` is False
    where the parts came in another order than asked for.
    """

    reps: tuple[Rep, ...]
    missing: tuple[str, ...]
    certain: bool
    in_order: bool


def find_parts(table: MeasureTable, exercise: Exercise, side: Side) -> list[Rep]:
    """Repetitions of a compound exercise, each labelled with the part it fits best.

    The exercise's own primary measure finds them, the places of the parts tell them apart. Those
    that fit no part keep ``part`` None and do not count.
    """
    if all(part.movement == "hold" for part in exercise.parts):
        found = _holds(table, exercise, side)
    else:
        found = find_repetitions(table, exercise, (side,), side, alike=False)
    labelled = []
    for rep in found:
        misfits = {part.name: misfit(table, rep, part, side) for part in exercise.parts}
        best = min(misfits, key=lambda name: misfits[name])
        part = best if misfits[best] <= MAX_MISFIT else None
        if part is not None or not _at_rest(table, exercise, rep, side):
            labelled.append(replace(rep, part=part, partial=rep.partial or part is None))
    return _without_settling(table, exercise, side, labelled)


def _without_settling(
    table: MeasureTable, exercise: Exercise, side: Side, reps: list[Rep]
) -> list[Rep]:
    """Of neighbours in one part, with no return to rest between them, only the longest.

    Such are settling into place and moving on from it, as when the hand lies on the back before it
    is lifted off.
    """
    kept: list[Rep] = []
    for rep in reps:
        last = kept[-1] if kept else None
        if last and last.part == rep.part and not _returned(table, exercise, last, rep, side):
            longer = max(last, rep, key=lambda one: one.top_end_s - one.top_start_s)
            kept[-1] = replace(longer, start_s=last.start_s, end_s=rep.end_s)
        else:
            kept.append(rep)
    return kept


def _returned(table: MeasureTable, exercise: Exercise, before: Rep, after: Rep, side: Side) -> bool:
    """True if the arm went at least half of its way back to rest between two tops."""
    sign = 1.0 if exercise.primary.direction == "rise" else -1.0
    values = sign * combined(table, exercise.primary.measure, (side,)).value
    times = table.time_s
    between = values[(times >= before.top_end_s) & (times <= after.top_start_s)]
    if not np.isfinite(between).any():
        return True
    rest = float(np.nanpercentile(values, 5))
    top = float(np.nanmedian(values[(times >= before.top_start_s) & (times <= before.top_end_s)]))
    return bool(np.nanmin(between) < (rest + top) / 2)


def _holds(table: MeasureTable, exercise: Exercise, side: Side) -> list[Rep]:
    """Every stay of the arm as a hold, hanging at rest among them."""
    primary = combined(table, exercise.primary.measure, (side,))
    found = []
    for piece in known_pieces(table, primary.value):
        times = table.time_s[piece]
        found += [
            _hold(table, exercise, primary, stay, side)
            for stay in find_stays(
                times, bridged(times, primary.value[piece]), exercise.primary.min_range
            )
            if not while_moving_about(table, stay.start_s, stay.end_s)
        ]
    return found


def _hold(table: MeasureTable, exercise: Exercise, primary: Series, stay: Stay, side: Side) -> Rep:
    unit = MEASURE_UNITS[exercise.primary.measure]
    inside = (table.time_s >= stay.start_s) & (table.time_s <= stay.end_s)
    sd = float(np.nanmedian(primary.sd[inside]))
    own = own_measures(table, stay, sd, unit) | hold_measures(table, primary, stay, sd, unit)
    return Rep(
        index=0,
        kind="hold",
        side=side,
        partial=not stay.whole,
        start_s=stay.start_s,
        top_start_s=stay.top_start_s,
        top_end_s=stay.top_end_s,
        end_s=stay.end_s,
        hold_s=own["hold"][0],
        own=own,
    )


def _at_rest(table: MeasureTable, exercise: Exercise, rep: Rep, side: Side) -> bool:
    """True if the primary measure is no further from its resting level than noise."""
    sign = 1.0 if exercise.primary.direction == "rise" else -1.0
    values = sign * combined(table, exercise.primary.measure, (side,)).value
    top = values[(table.time_s >= rep.top_start_s) & (table.time_s <= rep.top_end_s)]
    rest = float(np.nanpercentile(values, 5))
    return bool(np.nanmedian(top) < rest + exercise.primary.min_range)


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
    """Repetitions of one side, in order of time, parted into rounds.

    Of all ways to part them with no part twice in a round, the one that leaves the fewest parts
    out and has the fewest pairs in the wrong order.
    """
    order = [part.name for part in exercise.parts]
    whole = [rep for rep in reps if not rep.partial and rep.part in order]
    places = [order.index(rep.part) for rep in whole if rep.part is not None]
    best: list[tuple[int, tuple[int, ...]]] = [(0, ())]  # cost of the first n, and where they part
    for stop in range(1, len(places) + 1):
        options = [
            (best[start][0] + _cost(places[start:stop], len(order)), (*best[start][1], stop))
            for start in range(max(stop - len(order), 0), stop)
            if len(set(places[start:stop])) == stop - start
        ]
        best.append(min(options, key=lambda option: (option[0], len(option[1]))))
    stops = best[-1][1]
    return tuple(
        _cycle(order, reps, whole[start:stop], whole[stop].start_s if stop < len(whole) else None)
        for start, stop in pairwise((0, *stops))
    )


def _cost(places: Sequence[int], parts: int) -> int:
    return parts - len(places) + sum(a > b for a, b in combinations(places, 2))


def _cycle(
    order: Sequence[str], reps: Sequence[Rep], whole: Sequence[Rep], next_s: float | None
) -> Cycle:
    names = [rep.part for rep in whole]
    missing = tuple(name for name in order if name not in names)
    doubtful = [
        rep
        for rep in reps
        if rep.partial
        and rep.part in (None, *missing)
        and whole[0].start_s - MAX_BEFORE_S <= rep.end_s
        and (next_s is None or rep.start_s < next_s)
    ]
    return Cycle(
        reps=tuple(whole),
        missing=missing,
        certain=not doubtful,
        in_order=names == [name for name in order if name in names],
    )
