"""One number with its uncertainty for one check of one repetition."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.measures import MEASURES
from formcheck.catalogue.quantity import Quantity
from formcheck.exercises.schema import Check
from formcheck.measures.table import (
    SIDES,
    MeasureTable,
    Series,
    Side,
    column_name,
)
from formcheck.movements.signals import combined
from formcheck.movements.types import Rep

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

SUSTAINED_S = 0.15
"""A maximum or minimum counts once it lasts this long, so that one bad frame decides nothing."""
MIN_KNOWN_SHARE = 0.6
"""Less of the phase than this known, and its statistic is not."""
ONE_SIDED_95 = 1.645
ONE_SIDED_BAND = 3.0
"""A single limit has no width; three tolerances part right from clearly wrong (a proposal)."""
START_S = 0.3
"""Relative checks compare with the median over this long up to the repetition's start."""
DIFFERENCE_SHARE, ARM_DIFFERENCE_SHARE = 0.7, 1.0
"""Standard uncertainty of a change within a repetition, in those of the reading. The error is mostly a
bias that depends on posture, which two readings of one repetition partly share. Of the arm they share
less, as the networks rather expect it to keep still (made clips: with these shares 99 % of changed
leans and 93 % of changed arm heights lie within two uncertainties)."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A value with its standard uncertainty and its worst moment, or the reason there is none."""

    value: float | None
    sd: float | None
    at_s: float | None
    unit: str
    reason: str | None = None


def read_check(table: MeasureTable, rep: Rep, check: Check) -> Reading:
    """The statistic of a check over its phase of a repetition."""
    if not MEASURES[check.measure].over_time:
        return _own(rep, check)
    unit = MEASURES[check.measure].unit
    sides = _sides(rep, check)
    series = combined(table, check.measure, sides)
    window = _phase(table.time_s, rep, check)
    known = window & np.isfinite(series.value) & np.isfinite(series.sd)
    if not window.any() or known.sum() < MIN_KNOWN_SHARE * window.sum():
        return Reading(None, None, None, unit, _why_unknown(table, rep, check, sides))
    if check.relative:
        base = _at_start(table, series, rep)
        if base is None:
            return Reading(None, None, None, unit, "the moment before the start was not seen")
        series = Series(series.value - base, _difference_share(check) * series.sd)
    return Reading(*_statistic(table, series, known, check), unit)


def _own(rep: Rep, check: Check) -> Reading:
    unit = MEASURES[check.measure].unit_beside()
    own = rep.measures.get(check.measure, Quantity(float("nan"), float("nan"), unit))
    if not own.known:
        return Reading(None, None, None, own.unit, "this part of the movement was not seen")
    return Reading(own.value, own.sd, rep.top_start_s, own.unit)


def _sides(rep: Rep, check: Check) -> tuple[Side, ...]:
    working = tuple(side for side in SIDES if rep.side in (side, "both"))
    if check.side == "working" or len(working) == 2:
        return working
    return ("left",) if working == ("right",) else ("right",)


def _phase(time_s: FloatArray, rep: Rep, check: Check) -> BoolArray:
    spans = {
        "whole": (rep.start_s, rep.end_s),
        "effort": (rep.start_s, rep.top_start_s),
        "top": (rep.top_start_s, rep.top_end_s),
        "return": (rep.top_end_s, rep.end_s),
        "start": (rep.start_s - START_S, rep.start_s),
    }
    first, last = spans[check.phase]
    # A top without a pause is still a moment long.
    if last - first < SUSTAINED_S:
        middle = (first + last) / 2
        first, last = middle - SUSTAINED_S / 2, middle + SUSTAINED_S / 2
    return np.asarray((time_s >= first - 1e-6) & (time_s <= last + 1e-6))


def _statistic(
    table: MeasureTable, series: Series, known: BoolArray, check: Check
) -> tuple[float, float, float]:
    times, values, sds = table.time_s[known], series.value[known], series.sd[known]
    width = max(round(SUSTAINED_S / float(table.time_s[1] - table.time_s[0])), 1)
    ends = np.pad(values, (width // 2, width - 1 - width // 2), mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(ends, width)
    high, low = windows.min(axis=1), windows.max(axis=1)
    # An extreme is sought where it stands out most surely, not where the reading is most unsure.
    top, bottom = (
        int(np.argmax(high - ONE_SIDED_95 * sds)),
        int(np.argmin(low + ONE_SIDED_95 * sds)),
    )
    if check.statistic == "mean":
        worst = int(np.argmax(np.abs(values - _middle(check))))
        return float(values.mean()), float(np.sqrt(np.mean(sds**2))), float(times[worst])
    if check.statistic == "range":
        sd = float(np.hypot(sds[top], sds[bottom])) * (
            1 if check.relative else _difference_share(check)
        )
        return float(high[top] - low[bottom]), sd, float(times[top])
    over, under = _beyond(check, high, low)
    if check.statistic == "worst":
        top, bottom = _nearest(over, sds, check, top), _nearest(under, sds, check, bottom)
        up = over[top] / sds[top] >= under[bottom] / sds[bottom]
    else:
        up = check.statistic == "max"
        if up and check.low is None:
            top = _nearest(over, sds, check, top)
        elif not up and check.high is None:
            bottom = _nearest(under, sds, check, bottom)
    at, value = (top, high[top]) if up else (bottom, low[bottom])
    return float(value), float(sds[at]), float(times[at])


def _difference_share(check: Check) -> float:
    of_arm = MEASURES[check.measure].sided and MEASURES[check.measure].unit == "deg"
    return ARM_DIFFERENCE_SHARE if of_arm else DIFFERENCE_SHARE


def _beyond(check: Check, high: FloatArray, low: FloatArray) -> tuple[FloatArray, FloatArray]:
    """How far the values (n,) lie over the upper and under the lower limit, far within negative."""
    lower, upper = check.limits
    over = high - (np.inf if upper is None else upper)
    under = (-np.inf if lower is None else lower) - low
    return over, under


def _nearest(beyond: FloatArray, sds: FloatArray, check: Check, otherwise: int) -> int:
    """The moment that passes a limit most surely, or else most likely may: in uncertainties.

    Sought among readings that are fine enough to be judged by; ``otherwise``, where the extreme
    stands out, if that is none of them.
    """
    fine = 2 * sds <= band(check)
    return int(np.argmax(np.where(fine, beyond / sds, -np.inf))) if fine[otherwise] else otherwise


def band(check: Check) -> float:
    """Width that the uncertainty must not fill: the limits' own, or some tolerances of one limit."""
    low, high = check.limits
    if low is not None and high is not None:
        return high - low
    return ONE_SIDED_BAND * check.tolerance


def _middle(check: Check) -> float:
    """Middle of the target; of a one-sided target, its limit."""
    return float(np.mean([limit for limit in (check.low, check.high) if limit is not None]))


def _at_start(table: MeasureTable, series: Series, rep: Rep) -> float | None:
    before = (table.time_s >= rep.start_s - START_S) & (table.time_s <= rep.start_s + 0.05)
    values = series.value[before & np.isfinite(series.value)]
    return float(np.median(values)) if len(values) else None


def _why_unknown(table: MeasureTable, rep: Rep, check: Check, sides: tuple[Side, ...]) -> str:
    side = sides[0] if MEASURES[check.measure].sided else None
    for gap in table.gaps.get(column_name(check.measure, side), ()):
        if gap.start_s <= rep.end_s and gap.end_s >= rep.start_s:
            return gap.reason
    return "too little of this part was seen"
