"""The learned estimate: arm and trunk angles from landmarks, corrected for what the pose model gets
wrong, each with a standard uncertainty that depends on the situation.

Small networks (`networks.py`) were fitted to rendered people whose true angles are known
(`models/calibration`). They turn the raw arm directions by a bounded amount; where the inputs are
unlike anything they were fitted to, the uncertainty grows and then there is no answer, so that
geometry decides.
"""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.measures.angles import (
    NEAR_POLE_DEG,
    angle_between_deg,
    axial_rotation_deg,
    elevation_deg,
    plane_of_elevation_deg,
    unit,
)
from formcheck.measures.features import arm_features
from formcheck.measures.network_layout import (
    ARM_OUTPUTS,
    FOREARM,
    LOG_ERROR_LIMIT,
    LOG_ERRORS,
    MIRRORED,
    OUTPUTS,
    SCALARS,
    TRUNK_OUTPUTS,
    UPPER_ARM,
    VERTICAL,
)
from formcheck.measures.networks import load_ensemble, neighbours
from formcheck.measures.posture import Posture
from formcheck.measures.table import SIDES, Series, Side

MAX_NOVELTY = 1.5
"""Inputs more novel than this get no answer. A proposal."""
NOVELTY_POWER = 3.0
"""How the uncertainty grows with novelty beyond 1. A proposal."""
ROUGH_SCALE_FACTOR = 2.0
"""How many times less sure the networks are of who never shows the trunk well: push-ups with the head
to the camera are read well (elbow to 3 degrees), but of people lying on their side, along the line of
sight, hardly half are read within two uncertainties of the networks' own. Read on rendered people."""
STILL_DEG = 6.0
"""An arm is still while it and its forearm have turned by less than this, as the pose model shows them,
at all the times before and after that the networks look at. Above what landmarks tremble by. Read on
real people."""
STILL_SCALE_FACTOR = 1.6
"""How many times less sure the networks are of an arm that is still: they read a moment from the movement
around it, and do not tell by themselves that it is missing. Of rendered people who stop, two standard
uncertainties then hold the truth in 95-97 %, without it in 90-91 % (elbow and elevation). Read on
rendered people."""
_ANGLES = slice(0, 5)
"""Of OUTPUTS, the angles of the arm. Mechanical."""


@dataclass(frozen=True, slots=True, eq=False)
class LearnedArm:
    """One arm: measure name -> Series, directions (n, 3) as (lateral, forward, up), and the novelty
    of the inputs (n,): how unlike the fitting data they are, 1 being the edge of what is trusted.

    ``rise`` and ``protraction`` of the shoulder are in percent of trunk length.
    """

    series: dict[str, Series]
    upper: FloatArray
    fore: FloatArray
    novelty: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Learned:
    """Both arms, and the trunk (the mean of what is read with either arm in focus)."""

    arms: dict[Side, LearnedArm]
    trunk: dict[str, Series]


def learned_estimate(posture: Posture) -> Learned:
    """Arms and trunk of a posture; NaN where the subject is unknown or the inputs are unlike all
    that the estimate was fitted to.
    """
    read = {side: _read(posture, side) for side in SIDES}
    trunk = {}
    for name in TRUNK_OUTPUTS:
        sign = -1.0 if name in MIRRORED else 1.0
        right, left = read["right"][1][name], read["left"][1][name]
        value = (right.value + sign * left.value) / 2
        trunk[name] = Series(value, (right.sd + left.sd) / 2)
    return Learned({side: read[side][0] for side in SIDES}, trunk)


def _read(posture: Posture, side: Side) -> tuple[LearnedArm, dict[str, Series]]:
    """What is read with one arm in focus: of this arm, and of the trunk."""
    known, each, novelty, raw_upper, raw_fore = _outputs(posture, side)
    outputs = each.mean(axis=0)
    values, upper, fore = decoded(outputs, raw_upper, raw_fore)
    sd = _uncertainty(outputs, values[:, OUTPUTS.index("shoulder_elevation")])
    sd[:, _ANGLES] = np.hypot(sd, _disagreement(each, raw_upper, raw_fore))[:, _ANGLES]
    still = _still(posture.time_s[known], raw_upper, raw_fore)
    sd[:, _ANGLES] *= np.where(still, STILL_SCALE_FACTOR, 1.0)[:, None]
    factor = np.where(novelty > MAX_NOVELTY, np.nan, np.maximum(novelty, 1.0) ** NOVELTY_POWER)
    rough = ~np.isfinite(posture.trunk_px[known])
    sd = sd * (factor * np.where(rough, ROUGH_SCALE_FACTOR, 1.0))[:, None]
    values = np.where(np.isfinite(sd), values, np.nan)

    def at_all_times(part: FloatArray) -> FloatArray:
        whole = np.full((len(known), *part.shape[1:]), np.nan)
        whole[known] = part
        return whole

    series = {
        name: Series(at_all_times(values[:, k]), at_all_times(sd[:, k]))
        for k, name in enumerate(OUTPUTS)
    }
    of_arm = {name: series[name] for name in ARM_OUTPUTS}
    of_arm["upper_arm_forward"] = _forward(
        of_arm["shoulder_elevation"], of_arm["plane_of_elevation"]
    )
    arm = LearnedArm(
        of_arm,
        at_all_times(upper),
        at_all_times(fore),
        at_all_times(novelty),
    )
    return arm, {name: series[name] for name in TRUNK_OUTPUTS}


def _forward(elevation: Series, plane: Series) -> Series:
    """How far the arm points ahead of the trunk, from where it is raised to.

    As sure as the arm's direction is along the way in which the angle grows, which is partly that of
    the elevation and partly that of the plane (law of propagation of uncertainty, JCGM 100:2008, 5.1.2).
    """
    e, p = np.radians(elevation.value), np.radians(plane.value)
    value = np.degrees(np.arcsin(np.sin(e) * np.sin(p)))
    off_pole = np.radians(np.clip(elevation.value, NEAR_POLE_DEG, 180 - NEAR_POLE_DEG))
    raised, around = np.cos(e) * np.sin(p), np.cos(p)
    steepest = np.maximum(np.hypot(raised, around), np.finfo(float).eps)
    sd = np.hypot(raised * elevation.sd, around * plane.sd * np.sin(off_pole)) / steepest
    return Series(value, sd)


def _outputs(
    posture: Posture, side: Side
) -> tuple[BoolArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    """Which times are known, and of these each network's outputs, novelty and raw directions.

    The features, the largest arrays of a long clip, end here.
    """
    features = arm_features(posture, side)
    known = np.asarray(np.isfinite(features.values).all(axis=1), dtype=bool)
    # Of a long clip, which is mostly known all through, a copy takes tens of megabytes.
    values = features.values if known.all() else features.values[known]
    outputs, novelty = load_ensemble()(values, posture.time_s[known])
    return known, outputs, novelty, features.upper[known], features.fore[known]


def _disagreement(each: FloatArray, raw_upper: FloatArray, raw_fore: FloatArray) -> FloatArray:
    """How far the networks' own values (n, len(OUTPUTS)) lie apart: far where neither is at home."""
    values = np.stack([decoded(outputs, raw_upper, raw_fore)[0] for outputs in each])
    from_first = values - values[0]
    from_first[:, :, _ANGLES] = (from_first[:, :, _ANGLES] + 180) % 360 - 180
    return np.asarray(np.ptp(from_first, axis=0))


def _still(time_s: FloatArray, raw_upper: FloatArray, raw_fore: FloatArray) -> BoolArray:
    """(n,) True where the arm is as it is at all the times that the networks look at."""
    still = np.ones(len(time_s), dtype=bool)
    for then in (row for looks in neighbours(time_s) for row in looks):
        for direction in (raw_upper, raw_fore):
            still &= angle_between_deg(direction, direction[then]) < STILL_DEG
    return still


def _uncertainty(outputs: FloatArray, elevation_deg: FloatArray) -> FloatArray:
    """Standard uncertainty (n, len(OUTPUTS)) that the networks themselves predict."""
    model = load_ensemble()
    usual = np.array([model.base_sd[name] * model.scale[name] for name in OUTPUTS])
    sd = np.exp(np.clip(outputs[:, LOG_ERRORS], -LOG_ERROR_LIMIT, LOG_ERROR_LIMIT)) * usual
    # The network knows its error across the arm; near the poles that is a large one of the plane.
    off_pole_deg = np.clip(elevation_deg, NEAR_POLE_DEG, 180 - NEAR_POLE_DEG)
    sd[:, OUTPUTS.index("plane_of_elevation")] /= np.sin(np.radians(off_pole_deg))
    return np.asarray(sd)


def decoded(
    outputs: FloatArray, raw_upper: FloatArray, raw_fore: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Values (n, len(OUTPUTS)) and the corrected directions (n, 3) from raw outputs (n, COLUMNS) and
    the raw directions (n, 3).
    """
    upper = unit(unit(raw_upper) + outputs[:, UPPER_ARM])
    fore = unit(unit(raw_fore) + outputs[:, FOREARM])
    vertical = unit(outputs[:, VERTICAL] + np.array([0.0, 0.0, 1.0]))
    values = {
        "elbow_flexion": angle_between_deg(upper, fore),
        "shoulder_elevation": elevation_deg(upper),
        "plane_of_elevation": plane_of_elevation_deg(upper),
        "axial_rotation": axial_rotation_deg(upper, fore),
        "upper_arm_to_vertical": angle_between_deg(upper, -vertical),
    }
    for name, scalar in SCALARS.items():
        raw = outputs[:, scalar.column]
        if scalar.below is None:
            values[name] = scalar.scale * raw
        else:
            values[name] = scalar.below - scalar.scale * np.logaddexp(0.0, raw)
    return np.stack([values[name] for name in OUTPUTS], axis=1), upper, fore
