"""The best of two: what geometry reads and what the learned estimate reads.

An arm's angles are the learned ones, and geometry's where the estimate gives none because the inputs
are unlike all that it was fitted to. (Fusing the two where both answer made them worse on the bodies
of ``tune``: plane 11.8 to 12.5, rotation 11.7 to 12.5 degrees.) Leans of the trunk and the body line
are fused by their uncertainty, as the estimate tends to see people upright and geometry does not. A
hike is the mean of both (``girdle.py``). The estimate also reads the forward travel of the shoulder, the
turn of the trunk and the hips off the line, but hardly better than a constant zero would, so that those
are left to geometry.
"""

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.measures.angles import POLE_DEG, STRAIGHT_DEG
from formcheck.measures.learned import LearnedArm
from formcheck.measures.posture import MIN_VISIBILITY, Posture
from formcheck.measures.table import ArmPath, Series, Side
from formcheck.measures.uncertainty import blend, least_lean_sd

ARM_ANGLES = frozenset(
    {
        "elbow_flexion",
        "shoulder_elevation",
        "plane_of_elevation",
        "axial_rotation",
        "upper_arm_forward",
        "upper_arm_to_vertical",
    }
)
HARDLY_SEEN, HARDLY_SEEN_FACTOR = (0.1, 0.3), (2.5, 2.0)
"""Visibilities of a joint that hardly counts as seen, and how many times less sure what rests on it is.
Of seen hands, so rated, the truth lies within the usual uncertainty; of hidden ones, which a rating
cannot tell from them, it needs 2.5. Read on rendered people."""
_OF_WRIST = ("elbow_flexion", "axial_rotation", "hand_height", "hand_behind")
"""What rests on the wrist as well as on the elbow."""
TRUNK_ANGLES = frozenset({"trunk_lean_side", "trunk_lean_forward", "body_line"})


def trunk_estimate(
    geometric: dict[str, Series], learned: dict[str, Series], yaw_deg: FloatArray
) -> dict[str, Series]:
    """All measures of the trunk; its leans no surer than the view (n,) allows."""
    trunk = {
        name: _fuse_by_uncertainty(learned[name], series) if name in TRUNK_ANGLES else series
        for name, series in geometric.items()
    }
    side, forward = trunk["trunk_lean_side"], trunk["trunk_lean_forward"]
    side_sd, forward_sd = least_lean_sd(side.sd, forward.sd, yaw_deg)
    trunk["trunk_lean_side"] = Series(side.value, side_sd)
    trunk["trunk_lean_forward"] = Series(forward.value, forward_sd)
    return trunk


def arm_estimate(geometric: dict[str, Series], learned: LearnedArm) -> dict[str, Series]:
    """All measures of one arm, those without meaning in the present posture hidden again."""
    arm = {
        name: _prefer_learned(learned.series[name], series) if name in ARM_ANGLES else series
        for name, series in geometric.items()
    }
    elevation, elbow = arm["shoulder_elevation"].value, arm["elbow_flexion"].value
    off_poles = (elevation >= POLE_DEG) & (elevation <= 180 - POLE_DEG)
    arm["plane_of_elevation"] = _mask(off_poles, arm["plane_of_elevation"])
    arm["axial_rotation"] = _mask(elbow >= STRAIGHT_DEG, arm["axial_rotation"])
    return arm


def hardly_seen(posture: Posture, side: Side, arm: dict[str, Series]) -> dict[str, Series]:
    """All measures of one arm, less sure where a joint that they rest on is hardly seen."""
    elbow, wrist = (posture.visibility_of(name, side) for name in ("elbow", "wrist"))
    widened = {}
    for name, series in arm.items():
        rating = np.minimum(elbow, wrist) if name in _OF_WRIST else elbow
        factor = np.interp(rating, HARDLY_SEEN, HARDLY_SEEN_FACTOR)
        sd = np.where(rating < MIN_VISIBILITY, factor, 1.0) * series.sd
        widened[name] = Series(series.value, sd)
    return widened


def path_estimate(path: ArmPath, learned: LearnedArm) -> ArmPath:
    """The arm's direction in space as the learned estimate has it, where it has it."""
    known = np.isfinite(learned.series["shoulder_elevation"].sd) & np.isfinite(path.direction[:, 0])
    direction = np.where(known[:, None], learned.upper, path.direction)
    return ArmPath(direction, path.image, path.toward_camera)


def _prefer_learned(learned: Series, geometric: Series) -> Series:
    known = np.isfinite(learned.value) & np.isfinite(learned.sd)
    apart = np.abs((learned.value - geometric.value + 180) % 360 - 180)
    # How far geometry would shift the value if each counted by its uncertainty: where it hardly sees
    # the angle itself, it says little against the learned one.
    shift = apart * learned.sd**2 / (learned.sd**2 + geometric.sd**2)
    value = np.where(known, learned.value, geometric.value)
    sd = np.where(known, np.hypot(learned.sd, shift), geometric.sd)
    return _mask(np.isfinite(geometric.value), Series(value, sd))


def _fuse_by_uncertainty(learned: Series, geometric: Series) -> Series:
    value, sd = blend(learned.value, learned.sd, geometric.value, geometric.sd)
    return _mask(np.isfinite(geometric.value), Series(value, sd))


def _mask(where: BoolArray, series: Series) -> Series:
    """A measure stays unknown where geometry, which knows what is in view, says so."""
    known = where & np.isfinite(series.value) & np.isfinite(series.sd)
    return Series(np.where(known, series.value, np.nan), np.where(known, series.sd, np.nan))
