"""Whether a tracklet moves as a person does: steadily, or fast but smoothly; furniture jumps about."""

from math import sqrt

import numpy as np
from scipy.ndimage import median_filter

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.landmarks.framing import outside_picture
from formcheck.landmarks.interpolation import hold_last
from formcheck.landmarks.person_tracker import Tracklet
from formcheck.landmarks.track import Joint

MIN_TRACKLET_S = 0.5
"""Who is in view for less time is not the subject. A proposal."""
UNSTEADY = 0.008
"""Median second difference of shoulders and hips from frame to frame, in spans: up to 0.005 for
rendered people at 15 Hz (less at 30), 0.011-0.03 where the model sees a person in furniture. Read
on rendered people."""
UNSTEADY_RATE_HZ = 15.0
"""Below this rate a smooth movement itself has a second difference, which is allowed for.
Mechanical."""
FAST = 0.02
"""Fast people get so far: jumping jacks and push-ups 0.009 to 0.013, if only they move smoothly.
Read on real people."""
SMOOTH = 0.75
"""Of somebody who moves fast the fourth differences are small beside the second: 0.5 to 0.64 of what
noise would give, where there is nobody 0.73 to 0.96, of players who hide each other 0.9.
Read on real people."""
SMOOTH_OVER_S = 1.0
"""That is told over at least so long. A proposal."""
_SECOND_NOISE, _FOURTH_NOISE = sqrt(6), sqrt(70)
"""Spread of second and fourth differences of noise, in its own. Mechanical."""
_LEAST = 1e-9
"""Keeps a division safe. Mechanical."""
_HIPS = [Joint.LEFT_HIP, Joint.RIGHT_HIP]


def span_px(tracklet: Tracklet) -> float:
    """The usual size of the person."""
    return float(np.median([body.span_px for body in tracklet.bodies]))


def unsteadiness(tracklet: Tracklet) -> FloatArray:
    """(n,) second difference of shoulders and hips at each pose, in spans; 0 at the ends.

    Where poses are unevenly spaced it is twice the way from the line between the poses around.
    Hips outside the picture are imagined and always unsteady: they do not count.
    """
    trunk = np.array([body.trunk for body in tracklet.bodies])
    jerks = np.zeros((len(trunk), 2))
    if len(trunk) > 2:
        steps_s = np.diff(tracklet.time_s)
        share = (steps_s[:-1] / (steps_s[:-1] + steps_s[1:]))[:, None, None]
        between = (1 - share) * trunk[:-2] + share * trunk[2:]
        jerks[1:-1] = 2 * np.linalg.norm(trunk[1:-1] - between, axis=2)
    # Few frames are analysed only where there is little movement that would need an allowance.
    step_s = float(np.percentile(np.diff(tracklet.time_s), 10)) if len(trunk) > 1 else 0.0
    allowance = max(1.0, step_s * UNSTEADY_RATE_HZ) ** 2  # a smooth movement's share at low rates
    return _of_trunk(tracklet, jerks) / (span_px(tracklet) * allowance)


def is_person(tracklet: Tracklet) -> bool:
    """Whether it lasts and moves as a person does."""
    lasts_s = tracklet.time_s[-1] - tracklet.time_s[0]
    if lasts_s < MIN_TRACKLET_S:
        return False
    second = float(np.median(unsteadiness(tracklet)))
    smooth = lasts_s >= SMOOTH_OVER_S and _roughness(*_differences(tracklet)) < SMOOTH
    return second < UNSTEADY or (second < FAST and smooth)


def unsteady_frames(tracklet: Tracklet, time_s: FloatArray) -> BoolArray:
    """(n,) frames around which, for about a second, the body jumps about as no person does."""
    step_s = float(np.median(np.diff(time_s)))
    around = max(3, round(SMOOTH_OVER_S / step_s))
    within = slice(tracklet.index[0], tracklet.index[-1] + 1)

    def usual(values: FloatArray) -> FloatArray:
        held = hold_last(tracklet, values, len(time_s))[within]
        return np.asarray(median_filter(held, size=around, mode="nearest"))

    second, fourth = (usual(one) for one in _differences(tracklet))
    jumps = usual(unsteadiness(tracklet))
    smooth = fourth / _FOURTH_NOISE < SMOOTH * second / _SECOND_NOISE
    unsteady = np.zeros(len(time_s), dtype=bool)
    unsteady[within] = (jumps > UNSTEADY) & ~((jumps < FAST) & smooth)
    return unsteady


def _differences(tracklet: Tracklet) -> tuple[FloatArray, FloatArray]:
    """(n,) second and fourth differences of shoulders and hips at each pose, pixels; 0 at the ends."""
    trunk = np.array([body.trunk for body in tracklet.bodies])
    found = []
    for order in (2, 4):
        jumps = np.zeros((len(trunk), 2))
        if len(trunk) > order:
            differences = np.diff(trunk, n=order, axis=0)
            jumps[order // 2 : -order // 2] = np.linalg.norm(differences, axis=2)
        found.append(_of_trunk(tracklet, jumps))
    return found[0], found[1]


def _roughness(second: FloatArray, fourth: FloatArray) -> float:
    """Fourth differences beside second ones: about 1 for noise, less for movement."""
    usual = max(float(np.median(second)), _LEAST) / _SECOND_NOISE
    return float(np.median(fourth)) / _FOURTH_NOISE / usual


def _of_trunk(tracklet: Tracklet, jumps: FloatArray) -> FloatArray:
    """(n,) mean of shoulders and hips (n, 2), of the shoulders where the hips are only imagined."""
    outside = outside_picture(np.array([pose.image[_HIPS] for pose in tracklet.poses])).all(axis=1)
    return np.where(outside, jumps[:, 0], jumps.mean(axis=1))
