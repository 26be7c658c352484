"""The door of the room: a landmark track in, the measure table out."""

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.codes import ReasonCode
from formcheck.landmarks.track import LandmarkTrack
from formcheck.measures.arms import arm_path, arm_series
from formcheck.measures.estimate import arm_estimate, path_estimate, trunk_estimate
from formcheck.measures.girdle import UPRIGHT_SHARE, girdle_series
from formcheck.measures.learned import learned_estimate
from formcheck.measures.plausibility import implausible
from formcheck.measures.posture import Posture, posture_from
from formcheck.measures.table import (
    SIDES,
    Gap,
    MeasureTable,
    Series,
    column_name,
)
from formcheck.measures.timebase import runs
from formcheck.measures.trunk import trunk_series, view_from, yaw_deg

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

DEFAULT_STATURE_M = 1.70
"""Assumed where the subject's stature is not given; centimetre measures scale with it. A proposal.
"""

WALKING_TRUNKS_PER_S = 0.55
"""Hips travelling faster than this (in trunk lengths a second) are walking or changing place. A
proposal."""
_MIN_GAP_S = 0.25
"""Shorter gaps are given no reason. A proposal."""


def measure_track(track: LandmarkTrack, *, stature_m: float = DEFAULT_STATURE_M) -> MeasureTable:
    """Every measure of a track with its standard uncertainty, on an even time base.

    ``stature_m`` scales the centimetre measures. Values that cannot be known are NaN, with the
    reason in ``gaps``. Sides are the subject's own.
    """
    posture = posture_from(track)
    learned = learned_estimate(posture)
    trunk = trunk_estimate(trunk_series(posture, stature_m), learned.trunk, yaw_deg(posture))
    columns = {column_name(name): series for name, series in trunk.items()}
    for side in SIDES:
        arm = arm_estimate(arm_series(posture, side, stature_m), learned.arms[side])
        arm |= girdle_series(posture, side, arm["shoulder_elevation"], trunk, stature_m)
        columns |= {column_name(name, side): series for name, series in arm.items()}
    doubtful, problems = implausible(posture)
    columns = {name: _without(series, doubtful) for name, series in columns.items()}
    return MeasureTable(
        time_s=posture.time_s,
        columns=columns,
        view=view_from(posture),
        arm_paths={
            side: path_estimate(arm_path(posture, side), learned.arms[side]) for side in SIDES
        },
        moving_about=_moving_about(posture),
        bridged=posture.bridged,
        gaps={name: _gaps(posture, name, series) for name, series in columns.items()},
        problems=problems,
    )


def _without(series: Series, doubtful: BoolArray) -> Series:
    return Series(np.where(doubtful, np.nan, series.value), np.where(doubtful, np.nan, series.sd))


def _moving_about(posture: Posture) -> BoolArray:
    """(n,) True while the hips travel through the picture, or the subject is not there."""
    hips = posture.image_middle("hip")
    gone = ~np.isfinite(hips[:, 0])
    if gone.all() or len(hips) < 3:
        return gone
    window = max(round(0.4 * posture.rate_hz), 1)
    travelled = np.full(len(hips), np.nan)
    travelled[window:-window] = np.linalg.norm(hips[2 * window :] - hips[: -2 * window], axis=1)
    speed = travelled / posture.trunk_px / (2 * window / posture.rate_hz)
    return np.asarray(gone | (np.nan_to_num(speed) > WALKING_TRUNKS_PER_S))


def _gaps(posture: Posture, name: str, series: Series) -> tuple[Gap, ...]:
    missing = ~np.isfinite(series.value)
    absent = ~np.isfinite(posture.image[:, 0, 0])
    no_trunk = ~posture.trunk_seen
    found = []
    for start, stop in runs(missing):
        if (stop - start) / posture.rate_hz < _MIN_GAP_S:
            continue
        if absent[start:stop].mean() > 0.5:
            reason = ReasonCode.NOBODY_FOUND
        elif no_trunk[start:stop].mean() > 0.5:
            reason = ReasonCode.TRUNK_NOT_SEEN
        else:
            lies = (posture.up[start:stop, 1] >= -UPRIGHT_SHARE).mean() > 0.5
            reason = ReasonCode.HEAD_RESTS if lies and name.startswith("hike") else _reason(name)
        found.append(Gap(float(posture.time_s[start]), float(posture.time_s[stop - 1]), reason))
    return tuple(found)


def _reason(name: str) -> ReasonCode:
    if name.startswith("plane_of_elevation"):
        return ReasonCode.NO_PLANE
    if name.startswith("axial_rotation"):
        return ReasonCode.NO_ROTATION
    if name.startswith("trunk_lean"):
        return ReasonCode.NOT_UPRIGHT
    if name.startswith(("body_line", "hip_off_line")):
        return ReasonCode.BODY_LINE_NOT_SEEN
    if name.startswith(("hike", "protraction")):
        return ReasonCode.SHOULDER_NOT_SEEN
    return ReasonCode.ARM_HIDDEN
