"""Repetitions and holds: excursions of the primary measure, with what follows them."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.catalogue.codes import ReasonCode
from formcheck.catalogue.quantity import Quantity
from formcheck.movements.arm_signal import ArmSignal
from formcheck.movements.excursions import Excursion, find_excursions
from formcheck.movements.plateaus import Plateau
from formcheck.movements.resting_place import only_rested, stretches_at_rest
from formcheck.movements.signals import bridged, while_moving_about
from formcheck.movements.stillness import JOINTS, still_span
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
FOLLOW_CM = (
    (0.0, 1.5, 2.5, 4.0, 8.0),
    (0.0, 3.5, 5.8, 6.0, 8.0),
    (1.0, 2.0, 1.3, 1.1, 1.1),
)
"""Forward travel of the shoulder's mark after the return as read, as the shoulder's rather is, and its
standard uncertainty, in cm. Of 87 push-ups of 57 clips: read under 0.3, truly none in the median and off by
1.0; 1-2, truly 3.7 and off by 2.0, in 6 of 37 none at all; 2-3, truly 6.0 and off by 1.3; 3-4, truly 5.6 and
off by 1.0. (``python -m models.calibration.extra_push``.) Read on rendered people."""
MIN_WAIT_S = 1.0
"""A clip that ends sooner after the last return may have missed what follows. A proposal."""
SOON_S, AROUND_S = 1.0, 0.3
"""A clip that ends so soon after a return does not show what follows; where the arm is at its start and at
its end is read over so long before and after. A proposal."""
ELSEWHERE_DEG = 60.0
"""Another joint that differs by more than this from the start is not back. A proposal."""
_TINY = 1e-9
"""Keeps a division by the height of an excursion safe. Mechanical."""


def find_repetitions(arm: ArmSignal, *, alike: bool = True) -> list[Rep]:
    """Repetitions or holds in the primary measure of an arm, or of both arms together.

    ``alike`` False is for those that need not reach a share of each other's height.
    """
    found: list[Rep] = []
    for times, effort in arm.known_stretches():
        if arm.exercise.primary.rest:
            found += _from_rest(arm, times, effort, alike=alike)
            continue
        found += [
            _repetition(arm, excursion)
            for excursion in find_excursions(times, effort, arm.min_range, alike=alike)
            if not while_moving_about(arm.table, excursion.start_s, excursion.end_s)
        ]
    return _with_follow(arm, found)


def _from_rest(
    arm: ArmSignal, times: FloatArray, effort: FloatArray, *, alike: bool
) -> Iterator[Rep]:
    """Repetitions that leave the resting place; one that only rests there is none."""
    for there_s, level in stretches_at_rest(arm, times, effort):
        found = find_excursions(there_s, level, arm.min_range, alike=alike)
        # It begins with a rest: what is under way there is no effort from it.
        lifts = [excursion for excursion in found if excursion.start_s > there_s[0]]
        yield from (_repetition(arm, lift) for lift in lifts)
        if not lifts:
            rested = _repetition(arm, only_rested(there_s))
            yield replace(rested, hold_s=None, measures={}, reason=ReasonCode.ONLY_RESTED)


def _repetition(arm: ArmSignal, excursion: Excursion) -> Rep:
    rep = rep_of(arm, excursion, "hold" if arm.exercise.movement == "hold" else "rep")
    unknown = _unknown_share(arm, excursion) > MAX_UNKNOWN_SHARE
    return replace(rep, partial=rep.partial or unknown or _ends_elsewhere(arm, excursion))


def _ends_elsewhere(arm: ArmSignal, excursion: Excursion) -> bool:
    """Whether the clip ends with the arm far from where it started, though the measure is back.

    Hands that were swept overhead and come to rest at the face are not back at the sides.
    """
    last_s = float(arm.table.time_s[-1])
    if last_s - excursion.end_s > SOON_S:
        return False
    start, end = (
        arm.between(at_s - AROUND_S, at_s + AROUND_S)
        for at_s in (excursion.start_s, excursion.end_s)
    )
    for joint in arm.known(JOINTS):
        if joint == arm.exercise.primary.measure:
            continue
        angle = arm.series(joint)
        before, after = (_median(angle.value[at]) for at in (start, end))
        sd = float(np.hypot(_median(angle.sd[start]), _median(angle.sd[end])))
        if abs(after - before) > max(ELSEWHERE_DEG, 2 * sd):
            return True
    return False


def _median(values: FloatArray) -> float:
    known = values[np.isfinite(values)]
    return float(np.median(known)) if len(known) else float("nan")


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
    """Lengthen each repetition by the excursion of its follow measure before the next begins, and
    say how large that is.
    """
    if arm.exercise.primary.follow is None:
        return reps
    times = arm.table.time_s
    follow = arm.series(arm.exercise.primary.follow).value
    lengthened = []
    for number, rep in enumerate(reps):
        last = number + 1 == len(reps)
        stop_s = float(times[-1]) if last else reps[number + 1].start_s
        window = arm.between(rep.end_s - FOLLOW_LEAD_S, stop_s)
        found = _follow_excursions(times[window], follow[window])
        ends_s = [excursion.end_s + FOLLOW_TAIL_S for excursion in found or ()]
        end_s = max(rep.end_s, min(max(ends_s, default=rep.end_s), stop_s))
        measures = {
            **rep.measures,
            "duration": replace(rep.measures["duration"], value=end_s - rep.start_s),
        }
        # At the end of the clip it may be that it was only not filmed.
        if found or (found is not None and stop_s - rep.end_s >= (MIN_WAIT_S if last else 0.0)):
            height_cm = max((excursion.height for excursion in found), default=0.0)
            measures["follow_range"] = followed(height_cm)
        lengthened.append(replace(rep, end_s=end_s, measures=measures))
    return lengthened


def followed(shown_cm: float) -> Quantity:
    """How far the shoulder travelled after the return, of whose mark so much was read."""
    read, true, sd = FOLLOW_CM
    travel_cm, sd_cm = (float(np.interp(shown_cm, read, of)) for of in (true, sd))
    return Quantity(travel_cm, sd_cm, "cm")


def _follow_excursions(times: FloatArray, follow: FloatArray) -> list[Excursion] | None:
    """The excursions of the follow measure after a return; None where it is not known."""
    if len(times) == 0 or np.isfinite(follow).mean() < 1 - MAX_UNKNOWN_SHARE:
        return None
    return find_excursions(times, bridged(times, follow), MIN_FOLLOW)
