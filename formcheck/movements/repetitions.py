"""Repetitions and holds: excursions of the primary measure, with what follows them."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from formcheck.exercises.schema import Exercise
from formcheck.measures.table import MEASURE_UNITS, MeasureTable, Series, Side
from formcheck.movements.excursions import Excursion, find_excursions
from formcheck.movements.signals import bridged, combined, known_pieces, while_moving_about
from formcheck.movements.stays import Stay
from formcheck.movements.types import Kind, Rep

FloatArray = NDArray[np.float64]

MAX_UNKNOWN_SHARE = 0.2
"""A repetition with more than this share of its time unknown is partial (a proposal)."""
MIN_DURATION_SD_S = 0.1
HOLD_SD_S = 0.2
"""Arrival and departure are each read to about 0.15 s on rendered holds."""
STEADINESS_SHARE = 0.15
"""A landmark's bias is the same throughout a hold; jitter is a small part of its error."""
MIN_FOLLOW = 1.0
"""Smallest excursion of a follow measure, in its unit."""
FOLLOW_LEAD_S = 0.3
FOLLOW_TAIL_S = 0.15
"""The last bit of its way back is not seen: on rendered push-ups it seems over 0.3 s early."""


def find_repetitions(
    table: MeasureTable,
    exercise: Exercise,
    sides: tuple[Side, ...],
    name: str,
    *,
    alike: bool = True,
) -> list[Rep]:
    """Repetitions or holds in the primary measure of ``sides``, labelled with side ``name``.

    ``alike`` False is for those that need not reach a share of each other's height.
    """
    primary = combined(table, exercise.primary.measure, sides)
    sign = 1.0 if exercise.primary.direction == "rise" else -1.0
    found = []
    for piece in known_pieces(table, primary.value):
        times = table.time_s[piece]
        signal = sign * bridged(times, primary.value[piece])
        found += [
            _rep(table, exercise, primary, excursion, name)
            for excursion in find_excursions(times, signal, exercise.primary.min_range, alike=alike)
            if not while_moving_about(table, excursion.start_s, excursion.end_s)
        ]
    return _with_follow(table, exercise, sides, found)


def _rep(
    table: MeasureTable, exercise: Exercise, primary: Series, excursion: Excursion, side: str
) -> Rep:
    kind: Kind = "hold" if exercise.movement == "hold" else "rep"
    inside = (table.time_s >= excursion.start_s) & (table.time_s <= excursion.end_s)
    unknown = float(np.mean(~np.isfinite(primary.value[inside]))) if inside.any() else 1.0
    sd = float(np.nanmedian(primary.sd[inside])) if unknown < 1 else float("nan")
    unit = MEASURE_UNITS[exercise.primary.measure]
    own = own_measures(table, excursion, sd, unit)
    if kind == "hold":
        own |= hold_measures(table, primary, excursion, sd, unit)
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


def own_measures(
    table: MeasureTable, excursion: Excursion | Stay, sd: float, unit: str
) -> dict[str, tuple[float, float, str]]:
    """Range, duration and greatest speed of a repetition or hold."""
    step = float(table.time_s[1] - table.time_s[0])
    # A speed is as wrong, relatively, as the range that it is the slope of.
    relative = min(sd / max(excursion.height, 1e-9), 1.0)
    return {
        "range": (excursion.height, sd, unit),
        "duration": (
            excursion.end_s - excursion.start_s,
            max(2 * step, MIN_DURATION_SD_S),
            "s",
        ),
        "peak_speed": (excursion.peak_speed, relative * excursion.peak_speed, f"{unit}/s"),
    }


def hold_measures(
    table: MeasureTable, primary: Series, excursion: Excursion | Stay, sd: float, unit: str
) -> dict[str, tuple[float, float, str]]:
    """Time held and steadiness of a hold."""
    top = (table.time_s >= excursion.top_start_s) & (table.time_s <= excursion.top_end_s)
    held = primary.value[top & np.isfinite(primary.value)]
    own = {"hold": (excursion.top_end_s - excursion.top_start_s, HOLD_SD_S, "s")}
    if len(held) > 2:
        own["steadiness"] = (float(np.std(held)), STEADINESS_SHARE * sd, unit)
    return own


def _with_follow(
    table: MeasureTable, exercise: Exercise, sides: tuple[Side, ...], reps: list[Rep]
) -> list[Rep]:
    """Lengthen each repetition by the excursion of its follow measure before the next begins."""
    if exercise.primary.follow is None:
        return reps
    follow = combined(table, exercise.primary.follow, sides).value
    lengthened = []
    for number, rep in enumerate(reps):
        stop_s = reps[number + 1].start_s if number + 1 < len(reps) else float(table.time_s[-1])
        window = (table.time_s >= rep.end_s - FOLLOW_LEAD_S) & (table.time_s <= stop_s)
        end_s = _follow_end_s(table.time_s[window], follow[window]) + FOLLOW_TAIL_S
        end_s = max(rep.end_s, min(end_s, stop_s))
        own = {**rep.own, "duration": (end_s - rep.start_s, *rep.own["duration"][1:])}
        lengthened.append(replace(rep, end_s=end_s, own=own))
    return lengthened


def _follow_end_s(times: FloatArray, follow: FloatArray) -> float:
    """When the follow measure is back from its excursion; -inf where none is seen."""
    if len(times) < 5 or np.isfinite(follow).mean() < 1 - MAX_UNKNOWN_SHARE:
        return float("-inf")
    found = find_excursions(times, bridged(times, follow), MIN_FOLLOW)
    return max((excursion.end_s for excursion in found), default=float("-inf"))
