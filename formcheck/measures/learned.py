"""The learned estimate: arm and trunk angles from landmarks, corrected for what the pose model gets
wrong, each with a standard uncertainty that depends on the situation.

Small networks (`networks.py`) were fitted to rendered people whose true angles are known
(`models/calibration`). They turn the raw arm directions by a bounded amount; where the inputs are
unlike anything they were fitted to, the uncertainty grows and then there is no answer, so that
geometry decides.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formcheck.measures.angles import (
    NEAR_POLE_DEG,
    angle_between_deg,
    axial_rotation_deg,
    elevation_deg,
    plane_of_elevation_deg,
    unit,
)
from formcheck.measures.features import arm_features
from formcheck.measures.networks import fitted
from formcheck.measures.posture import Posture
from formcheck.measures.table import SIDES, Series, Side

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

OUTPUTS = (
    "elbow_flexion",
    "shoulder_elevation",
    "plane_of_elevation",
    "axial_rotation",
    "upper_arm_to_vertical",
    "rise",
    "protraction",
    "trunk_lean_side",
    "trunk_lean_forward",
    "trunk_turn",
    "body_line",
    "hip_off_line",
)
ROUGH_RULER = 2.0
"""How many times more doubt there is about who never shows the trunk well: push-ups with the head
to the camera are read well (elbow to 3 degrees), but of people lying on their side, along the line
of sight, hardly half are read within two uncertainties of the networks' own. Read on rendered
people."""
_TRUNK = OUTPUTS[7:]
"""The outputs of the trunk. Mechanical."""
_MIRRORED = ("trunk_lean_side", "trunk_turn")


@dataclass(frozen=True, slots=True, eq=False)
class LearnedArm:
    """One arm: measure name -> Series, directions (n, 3) as (lateral, forward, up), and how unlike
    the fitting data the inputs are (n,), 1 being the edge of the trusted region.

    ``rise`` and ``protraction`` of the shoulder are in percent of trunk length.
    """

    series: dict[str, Series]
    upper: FloatArray
    fore: FloatArray
    unfamiliarity: FloatArray


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
    for number, name in enumerate(_TRUNK):
        sign = -1.0 if name in _MIRRORED else 1.0
        right, left = read["right"][1][number], read["left"][1][number]
        value = (right.value + sign * left.value) / 2
        trunk[name] = Series(value, (right.sd + left.sd) / 2)
    return Learned({side: read[side][0] for side in SIDES}, trunk)


def _read(posture: Posture, side: Side) -> tuple[LearnedArm, list[Series]]:
    model = fitted()
    known, mean, unfamiliar, upper, fore = _outputs(posture, side)
    values, upper, fore = _decoded(mean, upper, fore)
    usual = np.array([model.base_sd[name] * model.scale[name] for name in OUTPUTS])
    sd = np.exp(np.clip(mean[:, 16:], -4, 4)) * usual
    # The network knows its error across the arm; near the poles that is a large one of the plane.
    off_pole_deg = np.clip(values[:, 1], NEAR_POLE_DEG, 180 - NEAR_POLE_DEG)
    sd[:, 2] /= np.sin(np.radians(off_pole_deg))
    doubt = np.where(unfamiliar > 1.5, np.nan, np.maximum(unfamiliar, 1.0) ** 3)
    doubt = doubt * np.where(np.isfinite(posture.trunk_px[known]), 1.0, ROUGH_RULER)
    sd = sd * doubt[:, None]
    values = np.where(np.isfinite(sd), values, np.nan)

    def spread_out(part: FloatArray) -> FloatArray:
        whole = np.full((len(known), *part.shape[1:]), np.nan)
        whole[known] = part
        return whole

    series = [Series(spread_out(values[:, k]), spread_out(sd[:, k])) for k in range(len(OUTPUTS))]
    arm = LearnedArm(
        dict(zip(OUTPUTS[:7], series[:7], strict=True)),
        spread_out(upper),
        spread_out(fore),
        spread_out(unfamiliar),
    )
    return arm, series[7:]


def _outputs(
    posture: Posture, side: Side
) -> tuple[BoolArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    """Which times are known, and of these the networks' outputs, unfamiliarity and raw directions.

    The features, the largest arrays of a long clip, end here.
    """
    features = arm_features(posture, side)
    known = np.asarray(np.isfinite(features.values).all(axis=1), dtype=bool)
    # Of a long clip, which is mostly known all through, a copy takes tens of megabytes.
    values = features.values if known.all() else features.values[known]
    mean, unfamiliar = fitted()(values, posture.time_s[known])
    return known, mean, unfamiliar, features.upper[known], features.fore[known]


def _decoded(
    outputs: FloatArray, raw_upper: FloatArray, raw_fore: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Values (n, len(OUTPUTS)) and the corrected directions (n, 3) from the network's outputs."""
    upper = unit(unit(raw_upper) + outputs[:, 0:3])
    fore = unit(unit(raw_fore) + outputs[:, 3:6])
    vertical = unit(outputs[:, 8:11] + np.array([0.0, 0.0, 1.0]))
    values = np.stack(
        [
            angle_between_deg(upper, fore),
            elevation_deg(upper),
            plane_of_elevation_deg(upper),
            axial_rotation_deg(upper, fore),
            angle_between_deg(upper, -vertical),
            3.0 * outputs[:, 6],
            5.0 * outputs[:, 7],
            10.0 * outputs[:, 11],
            10.0 * outputs[:, 12],
            10.0 * outputs[:, 13],
            180.0 - 20.0 * np.logaddexp(0.0, outputs[:, 14]),
            5.0 * outputs[:, 15],
        ],
        axis=1,
    )
    return values, upper, fore
