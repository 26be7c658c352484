"""The package's entry point: a landmark track in, the measure table out."""

from dataclasses import replace

import numpy as np

from formcheck.catalogue.arrays import BoolArray
from formcheck.catalogue.codes import ProblemCode, ReasonCode
from formcheck.catalogue.measures import Measure
from formcheck.landmarks.track import LandmarkTrack
from formcheck.measures.arms import arm_path
from formcheck.measures.camera_place import camera_place
from formcheck.measures.estimate import arm_estimate, hardly_seen, path_estimate, trunk_estimate
from formcheck.measures.girdle import UPRIGHT_SHARE
from formcheck.measures.held import carried_on
from formcheck.measures.learned import learned_estimate
from formcheck.measures.levelling import (
    OF_GRAVITY,
    level_problems,
    level_sd_deg,
    levelled,
    roll_sd_deg,
)
from formcheck.measures.plausibility import implausible
from formcheck.measures.posture import DEFAULT_STATURE_M, Posture, posture_from
from formcheck.measures.registry import arm_series, girdle_series, trunk_series
from formcheck.measures.table import (
    SIDES,
    Gap,
    MeasureTable,
    Series,
    View,
    column_name,
    measure_of,
)
from formcheck.measures.timebase import runs
from formcheck.measures.trunk import view_from, yaw_deg

WALKING_TRUNKS_PER_S = 0.55
"""Hips travelling faster than this (in trunk lengths a second) are walking or changing place.
A proposal."""
TRAVEL_S = 0.4
"""Their speed is taken over so long before and after. A proposal."""
OF_DEPTH = ("plane_of_elevation", "axial_rotation", "upper_arm_forward")
"""Directions that rest on depth, which is not to be trusted where left and right were exchanged."""
FACE_HIDDEN_FACTOR = 1.6
"""How many times less sure everything is of somebody whose face was hidden beforehand: the pose model
places the rest of a body by its face too. Read on rendered people."""
_MIN_GAP_S = 0.25
"""Shorter gaps are not told. A proposal."""
MOSTLY = 0.5
"""Share of a gap that something must hold for to be its reason. A proposal."""


def measure_track(track: LandmarkTrack, *, stature_m: float = DEFAULT_STATURE_M) -> MeasureTable:
    """Every measure of a track with its standard uncertainty, on an even time base.

    ``stature_m`` scales the centimetre measures. Values that cannot be known are NaN, with the
    reason in ``gaps``. Sides are the subject's own.
    """
    track, roll_deg = levelled(track)
    roll_sd = roll_sd_deg(track, roll_deg)
    posture = posture_from(track, stature_m=stature_m)
    learned, yaw, view = learned_estimate(posture), yaw_deg(posture), _view(posture, track)
    trunk = trunk_estimate(trunk_series(posture), learned.trunk, yaw)
    columns = {column_name(name): series for name, series in trunk.items()}
    for side in SIDES:
        geometric = arm_series(posture, side)
        arm = arm_estimate(geometric, learned.arms[side])
        arm = carried_on(posture, side, hardly_seen(posture, side, arm), geometric)
        rise = {"rise": learned.arms[side].series["rise"]}
        arm |= girdle_series(posture, side, trunk | arm | rise)
        arm |= {name: _without(arm[name], posture.exchanged) for name in OF_DEPTH}
        columns |= {column_name(name, side): series for name, series in arm.items()}
    doubtful, problems = implausible(posture)
    columns = {name: _without(series, doubtful) for name, series in columns.items()}
    factor = FACE_HIDDEN_FACTOR if _face_hidden(track) else 1.0
    columns = {name: Series(one.value, factor * one.sd) for name, one in columns.items()}
    for name, series in columns.items():
        measure = measure_of(name).name
        if measure in OF_GRAVITY:
            level_sd = level_sd_deg(measure, series.value, roll_sd, view.camera_elevation_deg, yaw)
            columns[name] = Series(series.value, np.hypot(series.sd, level_sd))
    return MeasureTable(
        time_s=posture.time_s,
        columns=columns,
        view=view,
        arm_paths={
            side: path_estimate(arm_path(posture, side), learned.arms[side]) for side in SIDES
        },
        moving_about=_moving_about(posture),
        bridged=posture.bridged,
        gaps=_gaps(posture, columns),
        problems=level_problems(roll_deg, view.camera_elevation_deg) + problems,
    )


def _view(posture: Posture, track: LandmarkTrack) -> View:
    distance_m, up_deg = camera_place(track)
    return replace(view_from(posture), camera_distance_m=distance_m, camera_elevation_deg=up_deg)


def _face_hidden(track: LandmarkTrack) -> bool:
    return any(problem.code == ProblemCode.FACE_HIDDEN for problem in track.problems)


def _without(series: Series, doubtful: BoolArray) -> Series:
    return Series(np.where(doubtful, np.nan, series.value), np.where(doubtful, np.nan, series.sd))


def _moving_about(posture: Posture) -> BoolArray:
    """(n,) True while the hips travel through the picture, or the subject is not there."""
    hips = posture.image_middle("hip")
    gone = ~np.isfinite(hips[:, 0])
    if gone.all() or len(hips) < 3:
        return gone
    window = max(round(TRAVEL_S * posture.rate_hz), 1)
    travelled = np.full(len(hips), np.nan)
    travelled[window:-window] = np.linalg.norm(hips[2 * window :] - hips[: -2 * window], axis=1)
    speed = travelled / posture.trunk_px / (2 * window / posture.rate_hz)
    return np.asarray(gone | (np.nan_to_num(speed) > WALKING_TRUNKS_PER_S))


def _gaps(posture: Posture, columns: dict[str, Series]) -> dict[str, tuple[Gap, ...]]:
    """Of each column, where it is unknown and why."""
    absent, no_trunk = ~np.isfinite(posture.image[:, 0, 0]), ~posture.trunk_seen
    head_down = posture.up[:, 1] >= -UPRIGHT_SHARE

    def reason(row: Measure, gap: slice) -> ReasonCode:
        if absent[gap].mean() > MOSTLY:
            return ReasonCode.NOBODY_FOUND
        if no_trunk[gap].mean() > MOSTLY:
            return ReasonCode.TRUNK_NOT_SEEN
        if row.name in OF_DEPTH and posture.exchanged[gap].mean() > MOSTLY:
            return ReasonCode.SIDES_EXCHANGED
        lies = row.name == "hike" and head_down[gap].mean() > MOSTLY
        return ReasonCode.HEAD_RESTS if lies else row.unseen

    return {
        name: tuple(
            Gap(
                float(posture.time_s[start]),
                float(posture.time_s[stop - 1]),
                reason(measure_of(name), slice(start, stop)),
            )
            for start, stop in runs(~np.isfinite(series.value))
            if (stop - start) / posture.rate_hz >= _MIN_GAP_S
        )
        for name, series in columns.items()
    }
