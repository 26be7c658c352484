"""The best of two: what geometry reads and what the learned estimate reads, joined by how sure each
is. Where the inputs are unlike all that the estimate was fitted to, it is silent and geometry stays.
"""

import numpy as np
from numpy.typing import NDArray

from formcheck.measures.angles import POLE_DEG, STRAIGHT_DEG
from formcheck.measures.girdle import from_quiet, normal_rise_cm
from formcheck.measures.learned import LearnedArm
from formcheck.measures.table import ArmPath, Series
from formcheck.measures.uncertainty import blend

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


def joined(geometric: dict[str, Series], learned: dict[str, Series]) -> dict[str, Series]:
    """Every geometric measure, joined with the learned one of the same name where there is one.

    A measure stays unknown where geometry, which knows what is in view, says so.
    """
    return {
        name: _join(series, learned[name]) if name in learned else series
        for name, series in geometric.items()
    }


def arm_estimate(
    geometric: dict[str, Series], learned: LearnedArm, quiet: BoolArray, trunk_cm: float
) -> dict[str, Series]:
    """All measures of one arm; ``quiet`` (n,) marks the quiet start, from which rises count."""
    arm = joined(geometric, {**learned.series, **_girdle(learned, quiet, trunk_cm)})
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


def _girdle(learned: LearnedArm, quiet: BoolArray, trunk_cm: float) -> dict[str, Series]:
    """Hike and protraction in centimetres from the learned travel of the shoulder on the trunk."""
    share = trunk_cm / 100
    rise, forward = learned.series["rise"], learned.series["protraction"]
    normal = normal_rise_cm(learned.series["shoulder_elevation"].value, trunk_cm)
    return {
        "hike": Series(from_quiet(rise.value * share - normal, quiet), rise.sd * share),
        "protraction": Series(from_quiet(forward.value * share, quiet), forward.sd * share),
    }


def _join(geometric: Series, learned: Series) -> Series:
    value, sd = blend(learned.value, learned.sd, geometric.value, geometric.sd)
    return _only(np.isfinite(geometric.value), Series(value, sd))


def _only(where: BoolArray, series: Series) -> Series:
    known = where & np.isfinite(series.value) & np.isfinite(series.sd)
    return Series(np.where(known, series.value, np.nan), np.where(known, series.sd, np.nan))
