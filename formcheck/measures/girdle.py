"""Shoulder girdle: how far the shoulder rises toward the ear (hike) and travels forward (protraction).

Both are changes from a baseline, the clip's own quiet start, in centimetres by the subject's trunk
length. Each takes a posture, a side, and what was estimated of the trunk and of this arm: of the shoulder's
rise, too, where the networks know it.
"""

from collections.abc import Mapping

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.landmarks.track import Joint
from formcheck.measures import uncertainty as error_model
from formcheck.measures.angles import unit
from formcheck.measures.posture import Posture
from formcheck.measures.table import Series, Side

UPRIGHT_SHARE = 0.6
"""Share of the trunk that must point up in the picture for the head to be off the floor. A proposal."""
BASELINE_S = 2.0
"""Longest baseline: the filming guide asks for two quiet seconds at the start. A proposal."""
BASELINE_BAND_DEG = 10.0
"""The baseline lasts while the arm is within this of its lowest elevation. A proposal."""
LANDMARK_GAIN = 0.6
"""Share of a true rise that the shoulder landmark shows (3 cm rise: 1.5-2.2 cm).
Read on rendered people."""
_NORMAL_RISE_DEG = (0.0, 60.0, 75.0, 90.0, 105.0, 120.0, 135.0, 180.0)
"""Elevations of _NORMAL_RISE_CM. Read on rendered people."""
_NORMAL_RISE_CM = (0.0, 0.0, 0.6, 1.4, 2.0, 3.1, 4.2, 4.5)
"""Rise of the shoulder landmark in cm that elevation in degrees brings without any hike, in people
with a normal rhythm (their shoulder joint rises 1.9 cm at 120 degrees): medians over 60 bodies, half
of which lie within 1 cm of it. Read on rendered people."""
JOINT_RISE_DEG, JOINT_RISE_CM = (30.0, 147.0), (0.0, 2.5)
"""Rise of the shoulder joint, which the networks read, with elevation without any hike: 1.9 cm at 120
degrees. Read on rendered people."""
LEARNED_RISE_GAIN = 3.0
"""The networks show a third of a hike, as they expect none. Read on rendered people."""
_HEAD_TURN_WEIGHT = 0.4
"""How much a sideways travel of the nose counts beside a nod. A proposal."""
_PROTRACTION_SHOWN = 0.6
"""Share of the trunk's forward axis that must lie in the picture. A proposal."""
_LEAST_SHOWN = 0.3
"""Uncertainty grows no further where less of it is shown. Mechanical."""


def hike(posture: Posture, side: Side, estimated: Mapping[str, Series]) -> Series:
    """Rise of the shoulder toward the ear, beyond the normal rise at this elevation.

    The mean of what the shoulder mark does in the picture and of what the networks read of the joint.
    Neither knows much: on two sets of people the area under the ROC curve for a hike is 0.69 to 0.80 by
    each alone, 0.76 and 0.81 by their mean.
    """
    elevation = estimated["shoulder_elevation"]
    baseline = baseline_mask(posture, elevation)
    offset = posture.image_of("shoulder", side) - posture.image_of("ear", side)
    seen = posture.seen("shoulder", side) & posture.seen("ear", side) & posture.trunk_seen
    along = np.sum(offset * unit(posture.up[:, :2]), axis=1) / posture.trunk_px * posture.trunk_cm
    # Whoever starts with the arm up has a normal rise from the start.
    normal = np.interp(elevation.value, _NORMAL_RISE_DEG, _NORMAL_RISE_CM)
    value = relative_to_baseline(along - normal, baseline & seen) / LANDMARK_GAIN
    learned = _learned_hike(posture, estimated, baseline & seen)
    value = np.where(np.isfinite(learned), (value + learned) / 2, value)
    sd = error_model.rise_sd_cm(
        elevation.value,
        _head_moved_cm(posture, baseline),
        relative_to_baseline(estimated["trunk_lean_side"].value, baseline),
        relative_to_baseline(estimated["trunk_lean_forward"].value, baseline),
        float(np.sum(baseline & seen)) / posture.rate_hz,
    )
    sd = sd * (1 + error_model.RISE_FROM_SIDE * posture.forward[:, 0] ** 2)
    # Of somebody who lies, the head rests on the floor and does not go with the neck.
    upright = posture.up[:, 1] < -UPRIGHT_SHARE
    return _where(seen & upright, value, sd / LANDMARK_GAIN)


def _learned_hike(
    posture: Posture, estimated: Mapping[str, Series], baseline: BoolArray
) -> FloatArray:
    """The hike (n,) that the networks read, NaN where they read none."""
    if "rise" not in estimated:
        return np.full(len(posture.time_s), np.nan)
    joint_cm = estimated["rise"].value / 100 * posture.trunk_cm
    normal = np.interp(estimated["shoulder_elevation"].value, JOINT_RISE_DEG, JOINT_RISE_CM)
    return LEARNED_RISE_GAIN * relative_to_baseline(joint_cm - normal, baseline)


def protraction(posture: Posture, side: Side, estimated: Mapping[str, Series]) -> Series:
    """Forward travel of the shoulder on the trunk, read in the picture from the side."""
    forward = posture.forward[:, :2]
    shown = np.linalg.norm(forward, axis=1)
    offset = posture.image_of("shoulder", side) - posture.image_of("ear", side)
    ahead = np.sum(offset * unit(forward), axis=1) / posture.trunk_px * posture.trunk_cm
    seen = posture.seen("shoulder", side) & posture.seen("ear", side)
    seen &= posture.trunk_seen & (shown > _PROTRACTION_SHOWN)
    baseline = baseline_mask(posture, estimated["shoulder_elevation"])
    sd = error_model.PROTRACTION_CM / np.maximum(shown, _LEAST_SHOWN)
    return _where(seen, relative_to_baseline(ahead, baseline & seen), sd)


def baseline_mask(posture: Posture, elevation: Series) -> BoolArray:
    """(n,) True in the quiet start: the first seconds, as far as the arm is near its lowest."""
    known = np.flatnonzero(np.isfinite(elevation.value))
    if len(known) == 0:
        return np.zeros(len(posture.time_s), dtype=bool)
    early = posture.time_s <= posture.time_s[known[0]] + BASELINE_S
    lowest = np.nanmin(elevation.value[early])
    return np.asarray(early & (elevation.value <= lowest + BASELINE_BAND_DEG))


def relative_to_baseline(values: FloatArray, baseline: BoolArray) -> FloatArray:
    """Values (n,) as changes from their median over the baseline; NaN if none of it is known."""
    known = values[baseline & np.isfinite(values)]
    return values - (np.median(known) if len(known) else np.nan)


def _head_moved_cm(posture: Posture, baseline: BoolArray) -> FloatArray:
    """How far the nose has moved from between the ears (n,): nodding counts whole, turning less."""
    nose = posture.image[:, Joint.NOSE] - posture.image_middle("ear")
    up = unit(posture.up[:, :2])
    across = np.stack([-up[:, 1], up[:, 0]], axis=1)
    nod, turn = (
        relative_to_baseline(
            np.sum(nose * axis, axis=1) / posture.trunk_px * posture.trunk_cm, baseline
        )
        for axis in (up, across)
    )
    return np.hypot(nod, _HEAD_TURN_WEIGHT * turn)


def _where(seen: BoolArray, value: FloatArray, sd: FloatArray) -> Series:
    value = np.where(seen, value, np.nan)
    return Series(value, np.where(np.isfinite(value), sd, np.nan))
