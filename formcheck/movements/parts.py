"""Compound exercises: which part each repetition was."""

from dataclasses import replace

import numpy as np

from formcheck.exercises.schema import Exercise, Part
from formcheck.measures.table import MEASURE_UNITS, MeasureTable, Series, Side
from formcheck.movements.circle_reps import circle_reps, runs_of
from formcheck.movements.repetitions import find_repetitions, hold_measures, own_measures
from formcheck.movements.rounds import NEVER, best_rounds, parted
from formcheck.movements.signals import bridged, combined, known_pieces, while_moving_about
from formcheck.movements.stays import Stay, find_stays
from formcheck.movements.types import Rep

PAUSE_S = 0.5
"""Whoever rests so soon after or before circles rests where they end or begin."""
LONE_ROUNDNESS = 0.5
"""A single turn less round may be the way from one place to the next, which reads up to 0.4 on
synthetic motion; true circles read 0.65-0.85 on rendered people (a proposal).
"""
BRIEF_S, PASSING_COST = 1.5, 3.0
"""A rest that reads as this short may be a place passed through: a stop of 0.2 s reads as 1.1 s,
with the slow ends of the moves. To suppose so costs less than a part left out (a proposal).
"""
MAX_MISFIT = 3.0
"""A part is not recognised when its place is missed by more than this many standard uncertainties."""

REST_MISFIT = 1.0
"""An arm at the lowest level of the clip hangs, unless it fits a part this well."""

Fit = tuple[Rep, tuple[float, ...]]
"""A repetition with how far it is from the place of each part."""


def find_parts(table: MeasureTable, exercise: Exercise, side: Side) -> list[Rep]:
    """Repetitions of a compound exercise, each labelled with its part.

    The exercise's own primary measure finds them. The places of the parts tell them apart; where
    those leave it open, the order of the parts does. Those that fit no part keep ``part`` None and
    do not count.
    """
    runs = _runs(table, exercise, side)
    fits = _still(table, exercise, side, [run for run, _ in runs])
    fits += [(run, _misfits(table, exercise, run, side)) for run, _ in runs]
    fits = _without_passing(sorted(fits, key=lambda fit: fit[0].start_s))
    rounds = parted([misfits for _, misfits in fits if min(misfits) <= MAX_MISFIT])
    places = iter([place for one in rounds for place in one])
    circles = {run.start_s: members for run, members in runs}
    named: list[Rep] = []
    for rep, misfits in fits:
        known = min(misfits) <= MAX_MISFIT
        part = exercise.parts[next(places)].name if known else None
        named += [
            replace(one, part=part, partial=one.partial or not known, misfits=misfits)
            for one in (circles[rep.start_s] if rep.kind == "circle" else (rep,))
        ]
    return named


def _still(table: MeasureTable, exercise: Exercise, side: Side, runs: list[Rep]) -> list[Fit]:
    """Holds and repetitions beside the runs of circles, each with its misfits."""
    parts = [part for part in exercise.parts if part.movement != "circle"]
    if not parts:
        return []
    if all(part.movement == "hold" for part in parts):
        found = _holds(table, exercise, side)
    else:
        found = find_repetitions(table, exercise, (side,), side, alike=False)
    found = [
        rep
        for rep in found
        if not any(
            run.start_s - PAUSE_S < rep.top_end_s and rep.top_start_s < run.end_s + PAUSE_S
            for run in runs
        )
    ]
    fits = [(rep, _misfits(table, exercise, rep, side)) for rep in found]
    fits = [
        (rep, misfits)
        for rep, misfits in fits
        if min(misfits) <= REST_MISFIT or not _at_rest(table, exercise, rep, side)
    ]
    return _without_settling(table, exercise, side, fits)


def _runs(table: MeasureTable, exercise: Exercise, side: Side) -> list[tuple[Rep, tuple[Rep, ...]]]:
    """Runs of whole circles, each as one long repetition, with its circles."""
    if not any(part.movement == "circle" for part in exercise.parts):
        return []
    whole = [rep for rep in circle_reps(table, side) if not rep.partial]
    found = []
    for run in runs_of(whole):
        if len(run) > 1 or run[0].own["roundness"][0] >= LONE_ROUNDNESS:
            first, last = run[0], run[-1]
            span = replace(first, top_start_s=first.start_s, top_end_s=last.end_s, own={})
            found.append((replace(span, end_s=last.end_s), run))
    return found


def _misfits(table: MeasureTable, exercise: Exercise, rep: Rep, side: Side) -> tuple[float, ...]:
    """How far a repetition is from each part; NEVER for another kind or way of movement."""
    return tuple(
        misfit(table, rep, part, side)
        if (rep.kind == "circle") == (part.movement == "circle")
        and part.turn in (None, rep.direction)
        else NEVER
        for part in exercise.parts
    )


def _without_settling(
    table: MeasureTable, exercise: Exercise, side: Side, fits: list[Fit]
) -> list[Fit]:
    """Of neighbours in one place, with no return to rest between them, only the longest.

    Such are settling into place and moving on from it, as when the hand lies on the back before it
    is lifted off.
    """
    kept: list[Fit] = []
    for rep, misfits in fits:
        last = kept[-1] if kept else None
        if (
            last is None
            or int(np.argmin(last[1])) != int(np.argmin(misfits))
            or _returned(table, exercise, last[0], rep, side)
        ):
            kept.append((rep, misfits))
            continue
        first = last[0]
        longer = max((last, (rep, misfits)), key=lambda one: one[0].top_end_s - one[0].top_start_s)
        kept[-1] = (replace(longer[0], start_s=first.start_s, end_s=rep.end_s), longer[1])
    return kept


def _without_passing(fits: list[Fit]) -> list[Fit]:
    """Without the brief rests that would only tear rounds apart: places passed through.

    One that stands where a part is due stays, as a hold that was too short.
    """
    kept = [fit for fit in fits if min(fit[1]) <= MAX_MISFIT]
    passed: list[Rep] = []
    for fit in list(kept):
        rep = fit[0]
        if rep.kind != "hold" or rep.top_end_s - rep.top_start_s >= BRIEF_S:
            continue
        without = [other for other in kept if other is not fit]
        costs = [best_rounds([misfits for _, misfits in some])[0] for some in (kept, without)]
        if costs[1] + PASSING_COST < costs[0]:
            kept = without
            passed.append(rep)
    return [fit for fit in fits if not any(fit[0] is rep for rep in passed)]


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
