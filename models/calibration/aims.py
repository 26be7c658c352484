"""The figures this estimate is meant to reach, beside what it reaches, in the two situations they are
set for: the joint's plane faces the camera, or it does not (an oblique view, an arm that points at it).

The aims were set when the project began (degrees; `rise` in percent of trunk length, half a centimetre
each). People who stand or sit count, seen from the front, the side or between, the near arm only.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formcheck.measures.angles import unit
from formcheck.measures.table import Side
from models.calibration.shards import Clip
from models.calibration.truth import COLUMNS

Array = NDArray[np.float64]
AIMS = {
    "elbow_flexion": (4.0, 6.0),
    "shoulder_elevation": (3.0, 5.0),
    "plane_of_elevation": (8.0, 10.0),
    "axial_rotation": (8.0, 12.0),
    "rise": (1.0, 1.6),
    "trunk_lean_side": (2.0, 3.0),
    "trunk_lean_forward": (3.0, 4.0),
}
"""Measure -> mean error meant where the joint's plane faces the camera, and where it does not."""
POINTING_DEG, FACING_DEG = 30.0, 40.0
"""A segment this near the line of sight points at the camera; a plane this near square faces it."""
_NO_PLANE_DEG = 15.0
"""Two segments so nearly in line span no plane: whether they point at the camera is all that counts."""
_SQUARE_DEG, _ALL_DEG = 30.0, 120.0


def facing(clip: Clip, side: Side, arm_yaw_deg: float) -> dict[str, NDArray[np.int8]]:
    """Measure of AIMS -> (n,) 0 where the joint's plane faces the camera, 1 where it does not, -1
    where no aim is set (lying, push-up, from behind, the arm away from the camera).
    """
    count = len(clip.truth)
    turned = abs(arm_yaw_deg)
    upright = clip.about["posture"] in ("standing", "sitting")
    if not upright or turned >= _ALL_DEG or (turned > 60 and arm_yaw_deg < 0):
        return {measure: np.full(count, -1, np.int8) for measure in AIMS}
    square = turned <= _SQUARE_DEG or turned >= 60
    upper, fore, up = _in_camera_axes(clip, side)
    points = {"upper": _points_at_camera(upper), "fore": _points_at_camera(fore)}
    either = points["upper"] | points["fore"]
    flat = {
        "elbow_flexion": _faces(upper, fore) & ~either,
        "shoulder_elevation": _faces(upper, -up) & ~points["upper"],
        "plane_of_elevation": ~points["upper"],
        "axial_rotation": ~either,
    }
    yes = np.ones(count, bool)
    return {m: np.where(square & flat.get(m, yes), 0, 1).astype(np.int8) for m in AIMS}


def _in_camera_axes(clip: Clip, side: Side) -> tuple[Array, Array, Array]:
    """Upper arm, forearm and the trunk's up (n, 3) as the camera sees them: right, down, away."""

    def of(*names: str) -> Array:
        return np.asarray(clip.truth[:, [COLUMNS.index(name) for name in names]])

    letter = side[0].upper()
    left, up = (of(*(f"{axis}_{k}" for k in "xyz")) for axis in ("left", "up"))
    axes = np.stack([left if side == "left" else -left, np.cross(left, up), up], axis=1)
    arm = (of(*(f"{name}_{k}_{letter}" for k in "xyz")) for name in ("upper", "fore"))
    upper, fore = (np.einsum("nk,nkj->nj", part, axes) for part in arm)
    return upper, fore, up


def _points_at_camera(direction: Array) -> NDArray[np.bool_]:
    return np.asarray(np.abs(direction[:, 2]) > np.cos(np.radians(POINTING_DEG)))


def _faces(one: Array, other: Array) -> NDArray[np.bool_]:
    """Whether the plane of two directions (n, 3) is nearly square to the line of sight."""
    across = np.cross(one, other)
    in_line = np.linalg.norm(across, axis=1) < np.sin(np.radians(_NO_PLANE_DEG))
    return np.asarray(in_line | (np.abs(unit(across)[:, 2]) > np.cos(np.radians(FACING_DEG))))


@dataclass(frozen=True, slots=True)
class ArmErrors:
    """Errors of one arm of a clip in one situation, the surest times alone; ``right``: nothing done wrong."""

    errors: Array
    right: bool


def aims_rows(
    errors: dict[str, tuple[list[ArmErrors], list[ArmErrors]]],
) -> Iterable[tuple[str, list[str]]]:
    """Rows of the report from the clips of each measure in either situation: aim, mean error of all,
    and of the clips done right, where the plane faces the camera, then where it does not.
    """
    for measure, aims in AIMS.items():
        cells = []
        for aim, clips in zip(aims, errors[measure], strict=True):
            cells += [f"{aim:g}", _mean(clips), _mean([clip for clip in clips if clip.right])]
        yield measure, cells


def _mean(clips: list[ArmErrors]) -> str:
    """Mean error over all times, and its standard error: the arms of clips vary, times of one hardly."""
    total = np.array([clip.errors.sum() for clip in clips])
    count = np.array([len(clip.errors) for clip in clips])
    if not count.sum():
        return "-"
    mean = total.sum() / count.sum()
    return f"{mean:.1f} ± {np.sqrt(np.sum((total - mean * count) ** 2)) / count.sum():.1f}"
