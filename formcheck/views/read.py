"""Measures told from joints in space, by the definitions of the measures package."""

from functools import partial

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.landmarks.track import LANDMARK_COUNT, Joint
from formcheck.measures.angles import (
    angle_between_deg,
    axial_rotation_deg,
    elevation_deg,
    forward_deg,
    plane_of_elevation_deg,
    unit,
)
from formcheck.measures.posture import trunk_axes
from formcheck.measures.table import SIDES, Side, column_name
from formcheck.views.rig import Rig
from formcheck.views.skeleton import JOINTS, PLACE
from formcheck.views.space import Reader

_LEAST_ANGLE_SINE = 0.3
"""Cameras turned from each other by less than about this do not give the vertical by their levels.
A proposal."""


def reader(rig: Rig, cm_per_m: float) -> Reader:
    """How to read all measures: with the vertical of a rig, and centimetres of the subject's own."""
    return partial(_measures, upward=-vertical(rig), cm=cm_per_m)


def cm_per_m(points_m: FloatArray, trunk_cm: float) -> float:
    """What makes the median length of the trunk in joints (n, j, 3) ``trunk_cm``."""
    trunk = _middle(points_m, "SHOULDER") - _middle(points_m, "HIP")
    return trunk_cm / float(np.nanmedian(np.linalg.norm(trunk, axis=1)))


def vertical(rig: Rig) -> FloatArray:
    """Straight down (3,) in the first camera's axes, of two phones that stand about level.

    Each phone's own down is off by its pitch; what is square to both phones' horizontal edges is off
    by their roll only, which is smaller, but cannot be told where they look the same way.
    """
    first, second = np.array([0.0, 1.0, 0.0]), rig.rotation.T @ np.array([0.0, 1.0, 0.0])
    mean = unit(first + second)
    level = np.cross(rig.rotation.T @ np.array([1.0, 0.0, 0.0]), np.array([1.0, 0.0, 0.0]))
    sine = float(np.linalg.norm(level))
    if sine < _LEAST_ANGLE_SINE:
        return mean
    level = level * np.sign(level @ mean) / sine
    return unit(mean + sine * level)


def _of(points_m: FloatArray, name: str, side: Side) -> FloatArray:
    return np.asarray(points_m[:, PLACE[Joint[f"{side.upper()}_{name}"]]])


def _middle(points_m: FloatArray, name: str) -> FloatArray:
    return np.asarray((_of(points_m, name, "left") + _of(points_m, name, "right")) / 2)


def _measures(points_m: FloatArray, *, upward: FloatArray, cm: float) -> dict[str, FloatArray]:
    whole = np.zeros((len(points_m), LANDMARK_COUNT, 3))
    whole[:, list(JOINTS)] = points_m
    up, left, forward = trunk_axes(whole)
    found = _trunk(points_m, up, left, forward, upward)
    for side in SIDES:
        outward = left if side == "left" else -left
        axes = np.stack([outward, forward, up], axis=1)
        found |= _arm(points_m, side, axes, upward, cm)
    return found


def _arm(
    points_m: FloatArray, side: Side, axes: FloatArray, upward: FloatArray, cm: float
) -> dict[str, FloatArray]:
    shoulder, elbow, wrist = (_of(points_m, name, side) for name in ("SHOULDER", "ELBOW", "WRIST"))

    def into_trunk(vectors: FloatArray) -> FloatArray:
        return np.asarray(np.einsum("nij,nj->ni", axes, vectors))

    upper, fore = unit(into_trunk(elbow - shoulder)), unit(into_trunk(wrist - elbow))
    down = np.broadcast_to(-upward, shoulder.shape)
    of_arm = {
        "elbow_flexion": angle_between_deg(upper, fore),
        "shoulder_elevation": elevation_deg(upper),
        "plane_of_elevation": plane_of_elevation_deg(upper),
        "axial_rotation": axial_rotation_deg(upper, fore),
        "upper_arm_forward": forward_deg(upper),
        "upper_arm_to_vertical": angle_between_deg(elbow - shoulder, down),
        "hand_height": into_trunk(wrist - _middle(points_m, "HIP"))[:, 2] * cm,
    }
    return {column_name(name, side): value for name, value in of_arm.items()}


def _trunk(
    points_m: FloatArray, up: FloatArray, left: FloatArray, forward: FloatArray, upward: FloatArray
) -> dict[str, FloatArray]:
    level = unit(left - np.sum(left * upward, axis=1, keepdims=True) * upward)
    ahead = np.cross(level, upward)
    upright = up @ upward
    of_trunk = {
        "trunk_lean_side": np.arctan2(np.sum(up * level, axis=1), upright),
        "trunk_lean_forward": np.arctan2(np.sum(up * ahead, axis=1), upright),
    }
    return {column_name(name): np.degrees(value) for name, value in of_trunk.items()}
