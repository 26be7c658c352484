"""Limits from what was demonstrated, and from what tells a right clip from a wrong one."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, floor, hypot

import numpy as np

from formcheck.catalogue.codes import Message, Params, ReasonCode
from formcheck.catalogue.measures import MEASURES
from formcheck.checks.decision import ONE_SIDED_REACH
from formcheck.checks.reading_errors import errors_of
from formcheck.checks.statistics import ONE_SIDED_95, read_check
from formcheck.exercises.schema import DEFAULT_DECISION, Check
from formcheck.measures.table import MeasureTable
from formcheck.movements.types import Rep

MIN_SEEN_SHARE = 0.5
"""A check is learned if at least this share of the repetitions shows its measure. A proposal."""
MIN_TOLERANCE = {"deg": 5.0, "cm": 0.5, "s": 0.5, "": 0.05, "deg/s": 10.0, "cm/s": 5.0}
"""The narrowest tolerance by unit: nobody does a thing twice alike. A proposal."""
TEMPO_SHARE = 0.15
"""A client's pace may differ from the demonstration's by this share. A proposal."""
ROUNDING_ROOM = 1.1
"""A single limit gets so many times the tolerance that it needs to be judged by at all, as tolerances are
rounded. A proposal."""
_PLACES = {"deg": 0, "deg/s": 0, "cm": 1, "cm/s": 0, "s": 1}
"""Decimal places of learned limits by unit. Mechanical."""
_SHARE_PLACES = 2
"""Those of shares, which have no unit. Mechanical."""


@dataclass(frozen=True, slots=True)
class Readings:
    """A check's values in the repetitions that show it, their uncertainty, and the share that do."""

    values: tuple[float, ...]
    sd: float
    unit: str
    share: float
    reason: Message

    @property
    def spread(self) -> float:
        """Standard deviation from repetition to repetition; 0 for a single one."""
        return float(np.std(self.values, ddof=1)) if len(self.values) > 1 else 0.0


@dataclass(frozen=True, slots=True)
class Learned:
    """A check with its learned limits, or the reason why this view does not support it.

    ``separates`` is True where a wrong clip's values are told from the right ones, False where
    they are not, None without a wrong clip.
    """

    check: Check
    right: Readings
    wrong: Readings | None = None
    unsupported: Message | None = None
    separates: bool | None = None


def read(table: MeasureTable, reps: Sequence[Rep], check: Check) -> Readings:
    """A check's readings over repetitions."""
    found = [read_check(table, rep, check) for rep in reps]
    known = [(r.value, r.sd) for r in found if r.value is not None and r.sd is not None]
    sd = float(np.median([sd for _, sd in known])) if known else float("nan")
    reason = next((r.reason for r in found if r.reason), Message(ReasonCode.NOT_SEEN))
    unit = found[0].unit if found else ""
    return Readings(tuple(v for v, _ in known), sd, unit, len(known) / max(len(found), 1), reason)


def learned(check: Check, right: Readings) -> Learned:
    """The check with limits that the demonstration keeps.

    The target is what was shown; the tolerance is 1.645 times its spread and the measurement's
    uncertainty together (95 % one-sided), never less than people differ anyway.
    """
    if right.share < MIN_SEEN_SHARE:
        return Learned(check, right, unsupported=right.reason)
    need = ONE_SIDED_95 * hypot(right.spread, right.sd)
    widest = MEASURES[check.measure].useful_tolerance
    if widest is not None and need > widest:
        coarse: Params = {"sd": right.sd, "unit": right.unit}
        return Learned(check, right, unsupported=Message(ReasonCode.TOO_COARSE_TO_LEARN, coarse))
    least = MIN_TOLERANCE.get(right.unit, 0.0)
    if check.measure == "duration":
        least = max(least, TEMPO_SHARE * float(np.mean(right.values)))
    tolerance = _rounded(max(need, least), right.unit, ceil)
    return Learned(_with_target(check, right, tolerance), right)


def contrasted(one: Learned, wrong: Readings) -> Learned:
    """The check with its limit moved between what was shown right and what was shown wrong.

    The two are told apart if the wrong clip lies beyond the right one by more than a verdict of
    "outside" needs, and the camera is fine enough to judge by a limit between the two.
    """
    check, right = one.check, one.right
    if wrong.share < MIN_SEEN_SHARE or right.share < MIN_SEEN_SHARE:
        return Learned(check, right, wrong, one.unsupported, separates=False)
    middle = float(np.median(wrong.values))
    target = _with_target(check, right, 0.0)
    beyond = [
        *([] if target.low is None else [target.low - middle]),
        *([] if target.high is None else [middle - target.high]),
    ]
    errors = errors_of(check)
    room = max(beyond) - errors.reached(1 - DEFAULT_DECISION.outside_from) * wrong.sd
    resolved = errors.reached(DEFAULT_DECISION.within_to) / ONE_SIDED_REACH
    least = ROUNDING_ROOM * resolved * max(right.sd, wrong.sd)
    tolerance = _rounded(max(room / 2, least), right.unit, floor)
    if room <= 0 or tolerance > room or tolerance <= 0:
        return Learned(check, right, wrong, one.unsupported, separates=False)
    if one.unsupported is None:
        tolerance = min(tolerance, max(check.tolerance, least))
    return Learned(_with_target(check, right, tolerance), right, wrong, separates=True)


def _with_target(check: Check, right: Readings, tolerance: float) -> Check:
    """The check with its target at what was shown; around zero where any departure is a fault."""
    low, high = min(right.values), max(right.values)
    if check.measure == "hold" and check.high is not None and check.low is None:
        # What is long enough is advice, and a short demonstration is no reason to narrow it.
        return check.model_copy(update={"high": max(check.high, _rounded(high, right.unit, ceil))})
    if check.low is not None and check.high is not None and _is_departure(check):
        high = max(abs(low), abs(high))
        low = -high
    elif check.measure == "hike":
        high = max(high, 0.0)
    return check.model_copy(
        update={
            "low": None if check.low is None else _rounded(low, right.unit, floor),
            "high": None if check.high is None else _rounded(high, right.unit, ceil),
            "tolerance": tolerance,
            "source": f"learned from {len(right.values)} demonstrated "
            f"(±{right.sd:.2g} {right.unit or 'of 1'} measured, ±{right.spread:.2g} between them)",
        }
    )


def _is_departure(check: Check) -> bool:
    """True if the target lies around keeping still or straight."""
    return check.relative or check.measure.startswith("trunk_")


def _rounded(value: float, unit: str, toward: Callable[[float], int]) -> float:
    """Whole degrees, tenths of seconds and centimetres, hundredths of shares."""
    places = _PLACES.get(unit, _SHARE_PLACES)
    return float(toward(round(value * 10**places, 6)) / 10**places)
