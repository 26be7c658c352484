"""One number with its uncertainty for one check of one repetition."""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.catalogue.codes import Message, ReasonCode
from formcheck.catalogue.measures import MEASURES, Scope
from formcheck.catalogue.quantity import Quantity
from formcheck.catalogue.views import MeasuredView
from formcheck.checks.decision import coarsest_sd
from formcheck.checks.reading_errors import errors_of
from formcheck.checks.spread import spread
from formcheck.exercises.schema import CHANGES, Check
from formcheck.measures.table import (
    SIDES,
    MeasureTable,
    Series,
    Side,
    column_name,
)
from formcheck.movements.signals import combined
from formcheck.movements.types import Rep

SUSTAINED_S = 0.15
"""A maximum or minimum counts once it lasts this long, so that one bad frame decides nothing.
A proposal."""
MIN_KNOWN_SHARE = 0.6
"""Less of the phase than this known, and its statistic is not. A proposal."""
ONE_SIDED_95 = 1.645
"""Standard uncertainties that a normal error stays below in 95 of 100 cases.
Published: JCGM 100:2008, table G.1 (90 % between both ends)."""
START_S = 0.3
"""Relative checks compare with the median over this long up to the repetition's start. A proposal."""
START_OVERLAP_S = 0.05
"""... and over so much of the repetition itself, in which hardly anything moves yet. A proposal."""
DIFFERENCE_SHARE = 0.7
"""Standard uncertainty of a change within a repetition, in those of the reading. The error is mostly
a bias that depends on posture, which two readings of one repetition partly share: on made clips 99 %
of changed leans lie within two uncertainties with this share. Read on rendered people."""
ARM_DIFFERENCE_SHARE = 1.0
"""The same of an angle of the arm, of which two readings share less, as the networks rather expect it
to keep still: on made clips 93 % of changed arm heights lie within two uncertainties with this share.
Read on rendered people."""
HIDDEN_FACTOR = 3.0
"""So many times less sure is a change of an arm that the trunk hides: of 11 repetitions in 5 clips whose
elbow or upper arm truly wandered by 28-62 degrees, seen from behind or as the far arm from the side, none
was read as more than 14. Read on rendered people."""
_BEHIND = (MeasuredView.BACK, MeasuredView.BACK_OBLIQUE_LEFT, MeasuredView.BACK_OBLIQUE_RIGHT)
_FAR = {MeasuredView.LEFT: "right", MeasuredView.RIGHT: "left"}
_SAME_TIME_S = 1e-6
"""Times closer than this are one. Mechanical."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A value with its standard uncertainty and its worst moment, or the reason there is none."""

    value: float | None
    sd: float | None
    at_s: float | None
    unit: str
    reason: Message | None = None


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
            return Reading(None, None, None, unit, Message(ReasonCode.START_NOT_SEEN))
        share = _difference_share(check) * _hidden_factor(table, check, sides)
        series = Series(series.value - base, share * series.sd)
    value, sd, at_s = _statistic(table, series, known, check)
    if check.statistic in CHANGES and not check.relative:
        sd *= _hidden_factor(table, check, sides)
    return Reading(value, sd, at_s, unit)


def _hidden_factor(table: MeasureTable, check: Check, sides: tuple[Side, ...]) -> float:
    """How much less sure a change is where the trunk is between the camera and the arm."""
    of_arm = MEASURES[check.measure].scope is Scope.ARM
    view = table.view.name
    hidden = view in _BEHIND or sides == (_FAR.get(view),)
    return HIDDEN_FACTOR if of_arm and hidden else 1.0


def _own(rep: Rep, check: Check) -> Reading:
    unit = MEASURES[check.measure].unit_beside()
    own = rep.measures.get(check.measure, Quantity(float("nan"), float("nan"), unit))
    if not own.known:
        return Reading(None, None, None, own.unit, Message(ReasonCode.PART_NOT_SEEN))
    at_s = rep.end_s if check.measure == "follow_range" else rep.top_start_s
    return Reading(own.value, own.sd, at_s, own.unit)


def side_of(rep: Rep, check: Check) -> str | None:
    """The arm that a check is of: ``left``, ``right`` or ``both``; None for the trunk."""
    measure = MEASURES[check.measure]
    if measure.over_time and not measure.sided:
        return None
    sides = _sides(rep, check)
    return sides[0] if len(sides) == 1 else "both"


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
    return np.asarray((time_s >= first - _SAME_TIME_S) & (time_s <= last + _SAME_TIME_S))


@dataclass(frozen=True, slots=True, eq=False)
class _Trace:
    """A measure at the moments of a phase at which it is known, (n,) each.

    ``high`` is the highest level, and ``low`` the lowest, sustained around each moment.
    """

    time_s: FloatArray
    value: FloatArray
    sd: FloatArray
    high: FloatArray
    low: FloatArray


_Statistic = tuple[float, float, float]
"""A value, its standard uncertainty, and its moment in seconds."""


def _statistic(table: MeasureTable, series: Series, known: BoolArray, check: Check) -> _Statistic:
    trace = _sustained(table, series, known)
    if check.statistic == "mean":
        return _mean(trace, check)
    if check.statistic in ("range", "spread"):
        return _range(trace, check)
    return _extreme(trace, check)


def _sustained(table: MeasureTable, series: Series, known: BoolArray) -> _Trace:
    values = series.value[known]
    width = max(round(SUSTAINED_S / float(table.time_s[1] - table.time_s[0])), 1)
    padded = np.pad(values, (width // 2, width - 1 - width // 2), mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, width)
    high, low = windows.min(axis=1), windows.max(axis=1)
    return _Trace(table.time_s[known], values, series.sd[known], high, low)


def _mean(trace: _Trace, check: Check) -> _Statistic:
    """The average, dated where the value is furthest from the target."""
    worst = int(np.argmax(np.abs(trace.value - _middle(check))))
    sd = float(np.sqrt(np.mean(trace.sd**2)))
    return float(trace.value.mean()), sd, float(trace.time_s[worst])


def _range(trace: _Trace, check: Check) -> _Statistic:
    """The maximum less the minimum, or the spread, dated at the maximum."""
    top, bottom = _most_certain_peak(trace.high, trace.sd), _most_certain_peak(-trace.low, trace.sd)
    sd = float(np.hypot(trace.sd[top], trace.sd[bottom]))
    if not check.relative:  # the uncertainty of a relative value is that of a change already
        sd *= _difference_share(check)
    if check.statistic == "spread":
        return *spread(check.measure, trace.value, sd), float(trace.time_s[top])
    return float(trace.high[top] - trace.low[bottom]), sd, float(trace.time_s[top])


def _extreme(trace: _Trace, check: Check) -> _Statistic:
    """The maximum, the minimum, or for ``worst`` whichever of them passes its limit more surely.

    Each is read where it passes its limit most surely. A maximum with a lower limit too, which may
    be too small, is read at its most certain peak, and so is a minimum with an upper limit.
    """
    over, under = _exceedances(trace, check)
    top, bottom = _most_certain_peak(trace.high, trace.sd), _most_certain_peak(-trace.low, trace.sd)
    worst = check.statistic == "worst"
    if worst or check.low is None:
        top = _most_certain_exceedance(over, trace.sd, check, fallback=top)
    if worst or check.high is None:
        bottom = _most_certain_exceedance(under, trace.sd, check, fallback=bottom)
    if worst:
        upper = bool(over[top] / trace.sd[top] >= under[bottom] / trace.sd[bottom])
    else:
        upper = check.statistic == "max"
    if upper:
        return float(trace.high[top]), float(trace.sd[top]), float(trace.time_s[top])
    return float(trace.low[bottom]), float(trace.sd[bottom]), float(trace.time_s[bottom])


def _most_certain_peak(level: FloatArray, sd: FloatArray) -> int:
    """Where a level (n,) stands out most surely: a peak with a large uncertainty is no peak yet."""
    return int(np.argmax(level - ONE_SIDED_95 * sd))


def _exceedances(trace: _Trace, check: Check) -> tuple[FloatArray, FloatArray]:
    """How far the levels (n,) lie over the upper and under the lower limit; within it, negative."""
    lower, upper = check.limits
    over = trace.high - (np.inf if upper is None else upper)
    under = (-np.inf if lower is None else lower) - trace.low
    return over, under


def _most_certain_exceedance(
    exceedance: FloatArray, sd: FloatArray, check: Check, *, fallback: int
) -> int:
    """The resolvable moment that passes a limit by the most uncertainties, or comes nearest to it;
    ``fallback``, the most certain peak, where that is not resolvable itself.
    """
    resolvable = _resolvable(sd, check)
    if not resolvable[fallback]:
        return fallback
    return int(np.argmax(np.where(resolvable, exceedance / sd, -np.inf)))


def _resolvable(sd: FloatArray, check: Check) -> BoolArray:
    """(n,) True where the reading is precise enough to be judged by."""
    return np.asarray(sd <= coarsest_sd(check, errors=errors_of(check)))


def _difference_share(check: Check) -> float:
    of_arm = MEASURES[check.measure].sided and MEASURES[check.measure].unit == "deg"
    return ARM_DIFFERENCE_SHARE if of_arm else DIFFERENCE_SHARE


def _middle(check: Check) -> float:
    """Middle of the target; of a one-sided target, its limit."""
    return float(np.mean([limit for limit in (check.low, check.high) if limit is not None]))


def _at_start(table: MeasureTable, series: Series, rep: Rep) -> float | None:
    before = (table.time_s >= rep.start_s - START_S) & (
        table.time_s <= rep.start_s + START_OVERLAP_S
    )
    values = series.value[before & np.isfinite(series.value)]
    return float(np.median(values)) if len(values) else None


def _why_unknown(table: MeasureTable, rep: Rep, check: Check, sides: tuple[Side, ...]) -> Message:
    side = sides[0] if MEASURES[check.measure].sided else None
    for gap in table.gaps.get(column_name(check.measure, side), ()):
        if gap.start_s <= rep.end_s and gap.end_s >= rep.start_s:
            return Message(gap.reason)
    return Message(ReasonCode.TOO_LITTLE_SEEN)
