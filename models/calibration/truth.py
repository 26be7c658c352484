"""What is exactly true of a pose: the columns that estimates are fitted to and judged by."""

import numpy as np
from numpy.typing import NDArray

from models.calibration.body import LATERAL, SIDES, Body, Motion, Pose, X, Y, Z
from models.calibration.cameras import Camera
from models.calibration.rotations import angle_deg, unit

Array = NDArray[np.float64]

ARM_COLUMNS = ("upper_x", "upper_y", "upper_z", "fore_x", "fore_y", "fore_z", "rise", "protraction")
TRUNK_COLUMNS = (
    "lean_side",
    "lean_forward",
    "turn",
    "body_line",
    "hip_off_line",
    *(f"{axis}_{k}" for axis in ("left", "up", "gravity_up") for k in "xyz"),
)
COLUMNS = (
    *(f"{name}_{side}" for side in SIDES for name in ARM_COLUMNS),
    *TRUNK_COLUMNS,
)
"""Directions are (lateral away from the body, forward, up) in thorax axes; ``rise`` and
``protraction`` (shoulder joint up and forward on the thorax, from rest) and ``hip_off_line`` are
shares of trunk length; leans (from gravity), ``turn`` and ``body_line`` are degrees; ``left`` and
``up`` are the thorax's axes and ``gravity_up`` the vertical, in camera axes (x right, y down, z away).
"""


_HEAD_POINTS = ((0, -0.12, 0.05), (0.075, 0, 0.06), (-0.075, 0, 0.06))
"""Nose and ears from the head bone, metres."""
_BONES = ("upperarm01", "lowerarm01", "wrist", "finger2-1", "upperleg01", "lowerleg01", "foot")


def truth_of(body: Body, motion: Motion, pose: Pose, camera: Camera) -> Array:
    """Truth (n, len(COLUMNS)) of every frame."""

    def joint(name: str) -> Array:
        return np.asarray(pose.heads[:, body.index[name]])

    thorax = pose.turns[:, body.index["spine01"]]
    columns = [_arm(body, side, pose, thorax) for side in SIDES]
    hips = (joint("upperleg01.L") + joint("upperleg01.R")) / 2
    columns.append(_leans(body, pose, joint("neck01") - hips))
    columns.append(motion.turn_left[:, None])
    columns.append(_line(body, pose))
    for axis in (X, Z):
        columns.append((thorax @ axis) @ camera.axes.T)
    columns.append(np.broadcast_to(camera.axes @ Z, (motion.frames, 3)))
    return np.concatenate(columns, axis=1)


def _arm(body: Body, side: str, pose: Pose, thorax: Array) -> Array:
    shoulder, elbow, wrist = (
        pose.heads[:, body.index[f"{name}.{side}"]]
        for name in ("upperarm01", "lowerarm01", "wrist")
    )
    axes = np.stack([LATERAL[side], -Y, Z])

    def into_thorax(vectors: Array) -> Array:
        return np.asarray(np.einsum("nji,nj->ni", thorax, vectors) @ axes.T)

    rest = body.head(f"upperarm01.{side}") - body.head("spine01")
    moved = into_thorax(shoulder - pose.heads[:, body.index["spine01"]]) - axes @ rest
    moved /= body.trunk_m
    return np.concatenate(
        [
            into_thorax(unit(elbow - shoulder)),
            into_thorax(unit(wrist - elbow)),
            moved[:, 2:],
            moved[:, 1:2],
        ],
        axis=1,
    )


def _leans(body: Body, pose: Pose, trunk: Array) -> Array:
    """Lean to the subject's left and forward of mid-hip to neck base, from gravity; NaN lying."""
    ahead = pose.turns[:, body.index["root"]] @ -Y
    flat = unit(ahead * np.array([1, 1, 0]))
    left = np.stack([-flat[:, 1], flat[:, 0], np.zeros(len(flat))], axis=1)
    rest = body.head("neck01") - (body.head("upperleg01.L") + body.head("upperleg01.R")) / 2
    side = np.degrees(np.arctan2(np.sum(trunk * left, axis=1), trunk[:, 2]))
    forward = np.degrees(np.arctan2(np.sum(trunk * flat, axis=1), trunk[:, 2]))
    forward -= np.degrees(np.arctan2(-rest[1], rest[2]))
    upright = (unit(trunk)[:, 2] > np.cos(np.radians(55))) & (np.abs(ahead[:, 2]) < 0.7)
    return np.where(upright[:, None], np.stack([side, forward], axis=1), np.nan)


def _line(body: Body, pose: Pose) -> Array:
    """Angle shoulder-hip-ankle, and the hip's distance in front of that line, mean of both sides."""
    front = pose.turns[:, body.index["root"]] @ -Y
    both = []
    for side in SIDES:
        shoulder, hip, ankle = (
            pose.heads[:, body.index[f"{name}.{side}"]]
            for name in ("upperarm01", "upperleg01", "foot")
        )
        line = unit(ankle - shoulder)
        off = hip - shoulder
        off = off - np.sum(off * line, axis=1, keepdims=True) * line
        bend = 180 - angle_deg(hip - shoulder, ankle - hip)
        both.append(np.stack([bend, np.sum(off * front, axis=1) / body.trunk_m], axis=1))
    return np.asarray(np.mean(both, axis=0))


def places_of(body: Body, pose: Pose) -> Array:
    """Places (n, 17, 3) of what the kept landmarks mark, in room axes."""
    head = body.index["head"]
    places = [pose.heads[:, head] + pose.turns[:, head] @ np.array(at) for at in _HEAD_POINTS]
    places += [pose.heads[:, body.index[f"{bone}.{side}"]] for bone in _BONES for side in SIDES]
    return np.stack(places, axis=1)
