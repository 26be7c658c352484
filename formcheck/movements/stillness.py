"""When the arm as a whole keeps still: where a hold begins and ends."""

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.movements.arm_signal import ArmSignal
from formcheck.movements.excursions import MIN_SAMPLES, SMOOTHING_S, Excursion
from formcheck.movements.plateaus import Plateau
from formcheck.movements.signals import bridged, smoothed

JOINTS = ("shoulder_elevation", "elbow_flexion")
"""The angles that tell whether the arm moves: the two that are read well from most views."""
STILL_SHARE = 0.12
"""Share of the greatest speed of these angles under which they are still. It is more than that of the
primary measure, as an angle is read from up to 2.4 s before and after: that of an arm which the trunk
hides begins to change before the arm does, at a tenth of that speed. A proposal."""
LEAST_MOVE_DEG = 30.0
"""A way into place that changes the two angles by less than this leaves it to the primary measure
when the hold begins, as their speed then is hardly more than noise. A proposal."""
LEAST_KNOWN_SHARE = 0.8
"""So much of both angles must be known. A proposal."""


def still_span(arm: ArmSignal, found: Excursion | Plateau) -> tuple[float, float]:
    """Start and end of the hold within the top of the primary measure.

    The hand may be at its height before the arm is in its place, as on its way to the other
    shoulder, where it comes in level. So the hold lasts only while shoulder and elbow are still too.
    """
    inside = arm.between(found.start_s, found.end_s)
    times = arm.table.time_s[inside]
    angles = np.stack([arm.series(joint).value[inside] for joint in JOINTS], axis=1)
    known = np.isfinite(angles).mean(axis=0) if len(times) >= MIN_SAMPLES else np.zeros(1)
    if known.min() < LEAST_KNOWN_SHARE:
        return found.top_start_s, found.top_end_s
    step = float(times[1] - times[0])
    angles = smoothed(bridged(times, angles), SMOOTHING_S / step)
    arrival_s = _still_from(times, angles, found.top_start_s)
    # The way out is the way in read backwards.
    departure_s = -_still_from(-times[::-1], angles[::-1], -found.top_end_s)
    return (arrival_s, departure_s) if arrival_s <= departure_s else (arrival_s, arrival_s)


def _still_from(times: FloatArray, angles: FloatArray, top_s: float) -> float:
    """The first moment from ``top_s`` at which ``angles`` (n, 2) are still, after their way there."""
    way = times <= top_s
    if not 1 < way.sum() < len(times):
        return top_s
    speed = np.linalg.norm(np.gradient(angles, times, axis=0), axis=1)
    moved_deg = float(np.linalg.norm(np.ptp(angles[way], axis=0)))
    still = ~way & (speed <= STILL_SHARE * speed[way].max())
    if moved_deg < LEAST_MOVE_DEG or not still.any():
        return top_s
    return float(times[np.argmax(still)])
