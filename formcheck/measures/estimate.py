"""The best of two: what geometry reads and what the learned estimate reads, joined by how sure each
is.

Joined are the arm's angles and the trunk's leans and turn. The estimate also reads the shoulder's
travel, the body line and the hips off it, but hardly better than their mean: on held-out bodies it
saw neither a 3 cm hike nor sagging hips, which geometry sees, so those stay with geometry.
Where the inputs are unlike all that the estimate was fitted to, it is silent and geometry stays.
"""

import numpy as np
from numpy.typing import NDArray

from formcheck.measures.angles import POLE_DEG, STRAIGHT_DEG
from formcheck.measures.learned import LearnedArm
from formcheck.measures.table import ArmPath, Series
from formcheck.measures.uncertainty import blend

JOINED = frozenset(
    {
        "elbow_flexion",
        "shoulder_elevation",
        "plane_of_elevation",
        "axial_rotation",
        "upper_arm_to_vertical",
        "trunk_lean_side",
        "trunk_lean_forward",
        "trunk_turn",
    }
)

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


def joined(geometric: dict[str, Series], learned: dict[str, Series]) -> dict[str, Series]:
    """Every geometric measure, joined with the learned one of the same name if it is in JOINED.

    A measure stays unknown where geometry, which knows what is in view, says so.
    """
    return {
        name: _join(series, learned[name]) if name in JOINED else series
        for name, series in geometric.items()
    }


def arm_estimate(geometric: dict[str, Series], learned: LearnedArm) -> dict[str, Series]:
    """All measures of one arm, those without meaning in the present posture hidden again."""
    arm = joined(geometric, learned.series)
    elevation, elbow = arm["shoulder_elevation"].value, arm["elbow_flexion"].value
    off_poles = (elevation >= POLE_DEG) & (elevation <= 180 - POLE_DEG)
    arm["plane_of_elevation"] = _only(off_poles, arm["plane_of_elevation"])
    arm["axial_rotation"] = _only(elbow >= STRAIGHT_DEG, arm["axial_rotation"])
    return arm


def path_estimate(path: ArmPath, learned: LearnedArm) -> ArmPath:
    """The arm's direction in space as the learned estimate has it, where it has it."""
    known = np.isfinite(learned.series["shoulder_elevation"].sd) & np.isfinite(path.direction[:, 0])
    direction = np.where(known[:, None], learned.upper, path.direction)
    return ArmPath(direction, path.image, path.toward_camera)


def _join(geometric: Series, learned: Series) -> Series:
    value, sd = blend(learned.value, learned.sd, geometric.value, geometric.sd)
    return _only(np.isfinite(geometric.value), Series(value, sd))


def _only(where: BoolArray, series: Series) -> Series:
    known = where & np.isfinite(series.value) & np.isfinite(series.sd)
    return Series(np.where(known, series.value, np.nan), np.where(known, series.sd, np.nan))
