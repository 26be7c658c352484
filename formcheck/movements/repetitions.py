"""Repetitions and holds: excursions of the primary measure, with what follows them."""

from dataclasses import replace

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.catalogue.quantity import Quantity
from formcheck.movements.arm_signal import ArmSignal
from formcheck.movements.excursions import Excursion, find_excursions
from formcheck.movements.plateaus import Plateau
from formcheck.movements.signals import bridged, while_moving_about
from formcheck.movements.stillness import still_span
from formcheck.movements.types import Kind, Rep

MAX_UNKNOWN_SHARE = 0.2
"""A repetition with more than this share of its time unknown is partial. A proposal."""
MIN_DURATION_SD_S = 0.1
"""A start and an end are read no better than this, whatever the frame rate. A proposal."""
HOLD_SD_S = 0.2
"""Arrival and departure are each read to about 0.15 s: 18 holds of two bodies from four views read
0.20 s short to 0.27 s long, 0.1 s in the root mean square. Read on rendered people."""
STEADINESS_SHARE = 0.15
"""Uncertainty of steadiness, in that of the measure: a landmark's bias is the same throughout a
hold, and jitter is a small part of its error. A proposal."""
MIN_FOLLOW = 1.0
"""Smallest excursion of a follow measure, in its unit. A proposal."""
FOLLOW_LEAD_S = 0.3
"""A follow measure's excursion is sought from so long before the end of the return. A proposal."""
FOLLOW_TAIL_S = 0.15
"""The last bit of its way back is not seen: on rendered push-ups it seems to end 0.3 s early.
Read on rendered people."""
_MIN_FOLLOW_SAMPLES = 5
"""Fewer show no excursion. Mechanical."""
_TINY = 1e-9
"""Keeps a division by the height of an excursion safe. Mechanical."""


def find_repetitions(arm: ArmSignal, *, alike: bool = True) -> list[Rep]:
    """Repetitions or holds in the primary measure of an arm, or of both arms together.

    ``alike`` False is for those that need not reach a share of each other's height.
    """
    found = []
    for times, effort in arm.known_stretches():
        found += [
            _repetition(arm, excursion)
            for excursion in find_excursions(times, effort, arm.min_range, alike=alike)
            if not while_moving_about(arm.table, excursion.start_s, excursion.end_s)
        ]
    return _with_follow(arm, found)


def _repetition(arm: ArmSignal, excursion: Excursion) -> Rep:
    rep = rep_of(arm, excursion, "hold" if arm.exercise.movement == "hold" else "rep")
    unknown = _unknown_share(arm, excursion) > MAX_UNKNOWN_SHARE
    return replace(rep, partial=rep.partial or unknown)


def rep_of(arm: ArmSignal, found: Excursion | Plateau, kind: Kind) -> Rep:
    """A repetition or a hold with its measures, from where it was found in the signal."""
    if kind == "hold":
        top_start_s, top_end_s = still_span(arm, found)
        found = replace(found, top_start_s=top_start_s, top_end_s=top_end_s)
    inside = arm.between(found.start_s, found.end_s)
    known = _unknown_share(arm, found) < 1
    sd = float(np.nanmedian(arm.primary.sd[inside])) if known else float("nan")
    measures = _measures(arm, found, sd)
    if kind == "hold":
        measures |= _hold_measures(arm, found, sd)
    return Rep(
        index=0,
        kind=kind,
        side=arm.side,
        partial=not found.complete,
        start_s=found.start_s,
        top_start_s=found.top_start_s,
        top_end_s=found.top_end_s,
        end_s=found.end_s,
        hold_s=measures["hold"].value if kind == "hold" else None,
        measures=measures,
    )


def _unknown_share(arm: ArmSignal, found: Excursion | Plateau) -> float:
    inside = arm.between(found.start_s, found.end_s)
    return float(np.mean(~np.isfinite(arm.primary.value[inside]))) if inside.any() else 1.0


def _measures(arm: ArmSignal, found: Excursion | Plateau, sd: float) -> dict[str, Quantity]:
    """Range, duration and greatest speed."""
    step = float(arm.table.time_s[1] - arm.table.time_s[0])
    # A speed is the slope of the range, so its relative uncertainty is the same.
    relative = min(sd / max(found.height, _TINY), 1.0)
    return {
        "range": Quantity(found.height, sd, arm.unit),
        "duration": Quantity(found.end_s - found.start_s, max(2 * step, MIN_DURATION_SD_S), "s"),
        "peak_speed": Quantity(found.peak_speed, relative * found.peak_speed, f"{arm.unit}/s"),
    }


def _hold_measures(arm: ArmSignal, found: Excursion | Plateau, sd: float) -> dict[str, Quantity]:
    """Time held, and steadiness: the standard deviation of the measure meanwhile."""
    top = arm.between(found.top_start_s, found.top_end_s)
    held = arm.primary.value[top & np.isfinite(arm.primary.value)]
    measures = {"hold": Quantity(found.top_end_s - found.top_start_s, HOLD_SD_S, "s")}
    if len(held) > 2:
        steadiness = float(np.std(held))
        measures["steadiness"] = Quantity(steadiness, STEADINESS_SHARE * sd, arm.unit)
    return measures


def _with_follow(arm: ArmSignal, reps: list[Rep]) -> list[Rep]:
    """Lengthen each repetition by the excursion of its follow measure before the next begins."""
    if arm.exercise.primary.follow is None:
        return reps
    times = arm.table.time_s
    follow = arm.series(arm.exercise.primary.follow).value
    lengthened = []
    for number, rep in enumerate(reps):
        stop_s = reps[number + 1].start_s if number + 1 < len(reps) else float(times[-1])
        window = arm.between(rep.end_s - FOLLOW_LEAD_S, stop_s)
        end_s = _follow_end_s(times[window], follow[window]) + FOLLOW_TAIL_S
        end_s = max(rep.end_s, min(end_s, stop_s))
        duration = replace(rep.measures["duration"], value=end_s - rep.start_s)
        measures = {**rep.measures, "duration": duration}
        lengthened.append(replace(rep, end_s=end_s, measures=measures))
    return lengthened


def _follow_end_s(times: FloatArray, follow: FloatArray) -> float:
    """When the follow measure is back from its excursion; -inf where none is seen."""
    known_share = np.isfinite(follow).mean() if len(times) >= _MIN_FOLLOW_SAMPLES else 0.0
    if known_share < 1 - MAX_UNKNOWN_SHARE:
        return float("-inf")
    found = find_excursions(times, bridged(times, follow), MIN_FOLLOW)
    return max((excursion.end_s for excursion in found), default=float("-inf"))
