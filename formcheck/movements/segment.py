"""The door of the room: a measure table and an exercise in, repetitions out."""

import numpy as np
from numpy.typing import NDArray

from formcheck.exercises.schema import Exercise
from formcheck.measures.table import (
    MEASURE_UNITS,
    SIDES,
    ArmPath,
    MeasureTable,
    Series,
    Side,
    is_sided,
)
from formcheck.measures.timebase import runs
from formcheck.movements.circles import Turn, find_circles
from formcheck.movements.excursions import Excursion, find_excursions
from formcheck.movements.types import Kind, Rep

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

MAX_GAP_S = 0.5
"""Repetitions are followed across unknown stretches up to this long, and broken by longer ones."""
MIN_PIECE_S = 1.0
MAX_UNKNOWN_SHARE = 0.2
"""A repetition with more than this share of its time unknown is partial (a proposal)."""
FOLLOW_SHARE = 0.5


def working_sides(table: MeasureTable, exercise: Exercise) -> tuple[Side, ...]:
    """The sides that do the exercise in this clip: those whose primary measure moves enough.

    One arm alone is taken when the other moves less than half as far. Empty if neither moves.
    """
    ranges = {side: _usual_range(table, exercise, side) for side in SIDES}
    most = max(ranges.values())
    if most < exercise.primary.min_range:
        return ()
    return tuple(s for s in SIDES if ranges[s] >= max(exercise.primary.min_range, 0.5 * most))


def find_reps(table: MeasureTable, exercise: Exercise, sides: tuple[Side, ...]) -> tuple[Rep, ...]:
    """Repetitions, holds or circles of the given sides, in order of time, numbered from 1.

    An exercise of both arms together is counted once, from both arms' measures.
    """
    groups = [sides] if exercise.arms == "both" else [(side,) for side in sides]
    found: list[Rep] = []
    for group in groups:
        name = group[0] if len(group) == 1 else "both"
        if exercise.movement == "circle":
            found += _circles(table, group[0], name)
        else:
            found += _excursions(table, exercise, group, name)
    found.sort(key=lambda rep: (rep.start_s, rep.side))
    return tuple(_numbered(rep, number) for number, rep in enumerate(found, start=1))


def primary_series(table: MeasureTable, exercise: Exercise, sides: tuple[Side, ...]) -> Series:
    """The primary measure of the working side, or of both sides weighted by how sure each is."""
    return combined(table, exercise.primary.measure, sides)


def combined(table: MeasureTable, measure: str, sides: tuple[Side, ...]) -> Series:
    """One series of a measure for one or both sides (weights 1 / sd squared)."""
    if not is_sided(measure):
        return table.series(measure)
    series = [table.series(measure, side) for side in sides]
    if len(series) == 1:
        return series[0]
    values = np.stack([s.value for s in series])
    weights = np.stack([np.nan_to_num(s.sd**-2.0) for s in series])
    total = weights.sum(axis=0)
    known = total > 0
    mean = np.nansum(np.nan_to_num(values) * weights, axis=0) / np.where(known, total, 1)
    # Both arms are read by one model whose errors lean the same way: no gain from two.
    least = np.nanmin(np.stack([np.where(known, s.sd, np.inf) for s in series]), axis=0)
    return Series(np.where(known, mean, np.nan), np.where(known, least, np.nan))


def _usual_range(table: MeasureTable, exercise: Exercise, side: Side) -> float:
    value = combined(table, exercise.primary.measure, (side,)).value
    value = value[np.isfinite(value) & ~table.moving_about]
    if len(value) == 0:
        return 0.0
    low, high = np.percentile(value, [3, 97])
    return float(high - low)


def _excursions(
    table: MeasureTable, exercise: Exercise, sides: tuple[Side, ...], name: str
) -> list[Rep]:
    primary = primary_series(table, exercise, sides)
    sign = 1.0 if exercise.primary.direction == "rise" else -1.0
    kind: Kind = "hold" if exercise.movement == "hold" else "rep"
    found = []
    for piece in _pieces(table, primary.value):
        times = table.time_s[piece]
        signal = sign * _filled(times, primary.value[piece])
        for excursion in find_excursions(times, signal, exercise.primary.min_range):
            if _while_moving_about(table, excursion.start_s, excursion.end_s):
                continue
            found.append(_rep(table, exercise, primary, excursion, kind, name))
    return _with_follow(table, exercise, sides, found)


def _rep(
    table: MeasureTable,
    exercise: Exercise,
    primary: Series,
    excursion: Excursion,
    kind: Kind,
    side: str,
) -> Rep:
    inside = (table.time_s >= excursion.start_s) & (table.time_s <= excursion.end_s)
    top = (table.time_s >= excursion.top_start_s) & (table.time_s <= excursion.top_end_s)
    unknown = float(np.mean(~np.isfinite(primary.value[inside]))) if inside.any() else 1.0
    sd = float(np.nanmedian(primary.sd[inside])) if unknown < 1 else float("nan")
    step = float(table.time_s[1] - table.time_s[0])
    unit = MEASURE_UNITS[exercise.primary.measure]
    duration_s = excursion.end_s - excursion.start_s
    # A slope's relative error is that of the range it runs over.
    relative = min(sd / max(excursion.height, 1e-9), 1.0)
    held = primary.value[top & np.isfinite(primary.value)]
    own = {
        "range": (excursion.height, sd, unit),
        "duration": (duration_s, max(2 * step, 0.1), "s"),
        "peak_speed": (excursion.peak_speed, relative * excursion.peak_speed, f"{unit}/s"),
    }
    if kind == "hold":
        hold_s = excursion.top_end_s - excursion.top_start_s
        own["hold"] = (hold_s, HOLD_SD_S, "s")
        if len(held) > 2:
            own["steadiness"] = (float(np.std(held)), STEADINESS_SHARE * sd, unit)
    return Rep(
        index=0,
        kind=kind,
        side=side,
        partial=not excursion.complete or unknown > MAX_UNKNOWN_SHARE,
        start_s=excursion.start_s,
        top_start_s=excursion.top_start_s,
        top_end_s=excursion.top_end_s,
        end_s=excursion.end_s,
        hold_s=own["hold"][0] if kind == "hold" else None,
        own=own,
    )


HOLD_SD_S = 0.2
"""Arrival and departure are each read to about 0.15 s on rendered holds."""
STEADINESS_SHARE = 0.15
"""The landmarks' bias is the same throughout a hold; jitter is a small part of their error."""


def _circles(table: MeasureTable, side: Side, name: str) -> list[Rep]:
    path = table.arm_paths[side]
    found = []
    for piece in _pieces(table, path.direction[:, 0]):
        times = table.time_s[piece]
        filled = ArmPath(
            direction=_filled(times, path.direction[piece]),
            image=_filled(times, path.image[piece]),
            toward_camera=_filled(times, path.toward_camera[piece]),
        )
        turns = find_circles(times, filled)
        found += [
            _circle(turn, name)
            for turn in turns
            if not _while_moving_about(table, turn.start_s, turn.end_s)
        ]
    return found


def _circle(turn: Turn, side: str) -> Rep:
    middle = (turn.start_s + turn.end_s) / 2
    duration_s = turn.end_s - turn.start_s
    return Rep(
        index=0,
        kind="circle",
        side=side,
        partial=not turn.complete,
        start_s=turn.start_s,
        top_start_s=middle,
        top_end_s=middle,
        end_s=turn.end_s,
        direction=turn.direction,
        own={
            "duration": (duration_s, 0.15, "s"),
            "range": (2 * turn.radius_deg, 0.3 * turn.radius_deg, "deg"),
            "roundness": (turn.roundness, ROUNDNESS_SD, ""),
        },
    )


ROUNDNESS_SD = 0.15
"""A true circle reads 0.65-0.85 on rendered people, from foreshortening."""


def _with_follow(
    table: MeasureTable, exercise: Exercise, sides: tuple[Side, ...], reps: list[Rep]
) -> list[Rep]:
    """Lengthen each repetition by the excursion of the follow measure before the next begins."""
    if exercise.primary.follow is None:
        return reps
    follow = combined(table, exercise.primary.follow, sides).value
    lengthened = []
    for number, rep in enumerate(reps):
        stop_s = reps[number + 1].start_s if number + 1 < len(reps) else float(table.time_s[-1])
        window = (table.time_s >= rep.end_s - 0.3) & (table.time_s <= stop_s)
        end_s = _follow_end(table.time_s[window], follow[window])
        lengthened.append(_ending(rep, max(rep.end_s, end_s)))
    return lengthened


def _follow_end(times: FloatArray, follow: FloatArray) -> float:
    """When the follow measure is back from its excursion; -inf where there is none to be seen."""
    if len(times) < 5 or np.isfinite(follow).mean() < 1 - MAX_UNKNOWN_SHARE:
        return float("-inf")
    found = find_excursions(times, _filled(times, follow), MIN_FOLLOW_CM)
    return max((e.end_s for e in found), default=float("-inf"))


MIN_FOLLOW_CM = 1.0


def _ending(rep: Rep, end_s: float) -> Rep:
    own = dict(rep.own)
    own["duration"] = (end_s - rep.start_s, own["duration"][1], "s")
    return _copy(rep, end_s=end_s, own=own)


def _numbered(rep: Rep, index: int) -> Rep:
    return _copy(rep, index=index)


def _copy(rep: Rep, **changes: object) -> Rep:
    from dataclasses import replace

    return replace(rep, **changes)  # type: ignore[arg-type]


def _pieces(table: MeasureTable, values: FloatArray) -> list[slice]:
    """Stretches in which the values are known but for gaps shorter than MAX_GAP_S."""
    step = float(table.time_s[1] - table.time_s[0]) if len(table.time_s) > 1 else 1.0
    known = runs(np.isfinite(values))
    joined: list[tuple[int, int]] = []
    for start, stop in known:
        if joined and (start - joined[-1][1]) * step <= MAX_GAP_S:
            joined[-1] = (joined[-1][0], stop)
        else:
            joined.append((start, stop))
    return [slice(a, b) for a, b in joined if (b - a) * step >= MIN_PIECE_S]


def _filled(times: FloatArray, values: FloatArray) -> FloatArray:
    """Values (n,) or (n, k) with NaN stretches bridged by straight lines."""
    if values.ndim > 1:
        columns = [_filled(times, column) for column in values.T]
        return np.stack(columns, axis=1)
    known = np.isfinite(values)
    return np.asarray(np.interp(times, times[known], values[known]))


def _while_moving_about(table: MeasureTable, start_s: float, end_s: float) -> bool:
    inside = (table.time_s >= start_s) & (table.time_s <= end_s)
    return bool(inside.any() and table.moving_about[inside].mean() > 0.5)
