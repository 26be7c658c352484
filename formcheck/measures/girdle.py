"""Shoulder girdle: how far the shoulder rises toward the ear (hike) and travels forward (protraction).

Both are changes from the clip's own quiet start, in centimetres by the subject's trunk length.
"""

import numpy as np
from numpy.typing import NDArray

from formcheck.measures import uncertainty as error_model
from formcheck.measures.angles import unit
from formcheck.measures.posture import TRUNK_SHARE_OF_STATURE, Posture
from formcheck.measures.table import Series, Side
from formcheck.measures.trunk import yaw_deg

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

QUIET_START_S = 2.0
"""The filming guide asks for two quiet seconds at the start."""
LANDMARK_GAIN = 0.6
"""Share of a true rise that the shoulder landmark shows (rendered people, 3 cm rise: 1.5-2.2 cm)."""
_NORMAL_RISE_DEG = (0.0, 30.0, 80.0, 110.0, 130.0, 180.0)
_NORMAL_RISE_CM = (0.0, 0.0, 0.7, 1.3, 2.4, 3.5)
"""Rise of the shoulder landmark in cm that elevation in degrees brings without any hike: rendered
people with a normal rhythm (their shoulder joint rises 1.9 cm at 120 degrees)."""


def girdle_series(
    posture: Posture, side: Side, elevation: Series, lean_deg: FloatArray, stature_m: float
) -> dict[str, Series]:
    """``hike`` and ``protraction`` of one side; ``elevation`` is that arm's shoulder elevation and
    ``lean_deg`` (n,) the trunk's lean to the side, which stretches the neck.
    """
    trunk_cm = TRUNK_SHARE_OF_STATURE * stature_m * 100
    quiet = quiet_start(posture, elevation)
    offset = posture.image_of("shoulder", side) - posture.image_of("ear", side)
    seen = posture.seen("shoulder", side) & posture.seen("ear", side) & posture.trunk_seen
    along = np.sum(offset * unit(posture.up[:, :2]), axis=1) / posture.trunk_px * trunk_cm
    rise = _from_quiet(along, quiet & seen)
    normal = np.interp(elevation.value, _NORMAL_RISE_DEG, _NORMAL_RISE_CM)
    hike = (rise - normal) / LANDMARK_GAIN
    rise_sd = error_model.rise_sd_cm(elevation.value, yaw_deg(posture), lean_deg)
    # Lying, the head rests on the floor and does not go with the neck.
    upright = posture.up[:, 1] < -0.6
    return {
        "hike": _where(seen & upright, hike, rise_sd / LANDMARK_GAIN),
        "protraction": _protraction(posture, side, quiet, trunk_cm),
    }


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
