"""Shoulder girdle: how far the shoulder rises toward the ear (hike) and travels forward (protraction).

Both are changes from the clip's own quiet start, in centimetres by the subject's trunk length.
"""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from formcheck.landmarks.track import Joint
from formcheck.measures import uncertainty as error_model
from formcheck.measures.angles import unit
from formcheck.measures.posture import TRUNK_SHARE_OF_STATURE, Posture
from formcheck.measures.table import Series, Side

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

UPRIGHT_SHARE = 0.6
"""Share of the trunk that must point up in the picture for the head to be off the floor. A
proposal."""
QUIET_START_S = 2.0
"""The filming guide asks for two quiet seconds at the start. A proposal."""
LANDMARK_GAIN = 0.6
"""Share of a true rise that the shoulder landmark shows: a rise of 3 cm shows as 1.5-2.2 cm. Read
on rendered people."""
_NORMAL_RISE_DEG = (0.0, 60.0, 75.0, 90.0, 105.0, 120.0, 135.0, 180.0)
"""Elevations of the table below. Read on rendered people."""
_NORMAL_RISE_CM = (0.0, 0.0, 0.6, 1.4, 2.0, 3.1, 4.2, 4.5)
"""Rise of the shoulder landmark in cm that elevation in degrees brings without any hike: rendered
people with a normal rhythm (their shoulder joint rises 1.9 cm at 120 degrees): medians over 60
bodies. Half of them lie within 1 cm of it. Read on rendered people."""


def girdle_series(
    posture: Posture, side: Side, elevation: Series, trunk: Mapping[str, Series], stature_m: float
) -> dict[str, Series]:
    """``hike`` and ``protraction`` of one side; ``elevation`` is that arm's shoulder elevation and
    ``trunk`` the measures of the trunk, whose leans stretch the neck.
    """
    trunk_cm = TRUNK_SHARE_OF_STATURE * stature_m * 100
    quiet = quiet_start(posture, elevation)
    offset = posture.image_of("shoulder", side) - posture.image_of("ear", side)
    seen = posture.seen("shoulder", side) & posture.seen("ear", side) & posture.trunk_seen
    along = np.sum(offset * unit(posture.up[:, :2]), axis=1) / posture.trunk_px * trunk_cm
    normal = np.interp(elevation.value, _NORMAL_RISE_DEG, _NORMAL_RISE_CM)
    # Who starts with the arm up has risen normally already.
    hike = _from_quiet(along - normal, quiet & seen) / LANDMARK_GAIN
    quiet_s = float(np.sum(quiet & seen)) / posture.rate_hz
    rise_sd = error_model.rise_sd_cm(
        elevation.value,
        _head_moved_cm(posture, quiet, trunk_cm),
        _from_quiet(trunk["trunk_lean_side"].value, quiet),
        _from_quiet(trunk["trunk_lean_forward"].value, quiet),
        quiet_s,
    )
    rise_sd = rise_sd * (1 + error_model.RISE_FROM_SIDE * posture.forward[:, 0] ** 2)
    # Lying, the head rests on the floor and does not go with the neck.
    upright = posture.up[:, 1] < -UPRIGHT_SHARE
    return {
        "hike": _where(seen & upright, hike, rise_sd / LANDMARK_GAIN),
        "protraction": _protraction(posture, side, quiet, trunk_cm),
    }


def _head_moved_cm(posture: Posture, quiet: BoolArray, trunk_cm: float) -> FloatArray:
    """How far the nose has moved from between the ears (n,): nodding counts whole, turning less."""
    nose = posture.image[:, Joint.NOSE] - posture.image_middle("ear")
    up = unit(posture.up[:, :2])
    across = np.stack([-up[:, 1], up[:, 0]], axis=1)
    nod, turn = (
        _from_quiet(np.sum(nose * axis, axis=1) / posture.trunk_px * trunk_cm, quiet)
        for axis in (up, across)
    )
    return np.hypot(nod, 0.4 * turn)


def quiet_start(posture: Posture, elevation: Series) -> BoolArray:
    """(n,) True in the quiet start: the first seconds, as far as the arm is near its lowest."""
    known = np.flatnonzero(np.isfinite(elevation.value))
    if len(known) == 0:
        return np.zeros(len(posture.time_s), dtype=bool)
    early = posture.time_s <= posture.time_s[known[0]] + QUIET_START_S
    lowest = np.nanmin(elevation.value[early])
    return np.asarray(early & (elevation.value <= lowest + 10.0))


def _protraction(posture: Posture, side: Side, quiet: BoolArray, trunk_cm: float) -> Series:
    """Forward travel of the shoulder on the trunk, read in the picture from the side."""
    forward = posture.forward[:, :2]
    shown = np.linalg.norm(forward, axis=1)
    offset = posture.image_of("shoulder", side) - posture.image_of("ear", side)
    ahead = np.sum(offset * unit(forward), axis=1) / posture.trunk_px * trunk_cm
    seen = posture.seen("shoulder", side) & posture.seen("ear", side)
    seen &= posture.trunk_seen & (shown > 0.6)
    sd = error_model.PROTRACTION_CM / np.maximum(shown, 0.3)
    return _where(seen, _from_quiet(ahead, quiet & seen), sd)


def _from_quiet(values: FloatArray, quiet: BoolArray) -> FloatArray:
    """Values (n,) as changes from their median in the quiet start; NaN if nothing is known there."""
    at_rest = values[quiet & np.isfinite(values)]
    return values - (np.median(at_rest) if len(at_rest) else np.nan)


def _where(seen: BoolArray, value: FloatArray, sd: FloatArray | float) -> Series:
    value = np.where(seen, value, np.nan)
    return Series(value, np.where(np.isfinite(value), sd, np.nan))
