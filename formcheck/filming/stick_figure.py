"""A figure in any posture, by forward kinematics: the joints in space, and as a camera sees them."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import cos, radians, sin

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.filming.figure import ArmPose, arm_directions
from formcheck.filming.poses import DrawnPoses

_UPPER_ARM, _FOREARM, _HAND, _TRUNK, _NECK = 0.30, 0.26, 0.09, 0.50, 0.24
"""Lengths of the drawn figure in metres, about those of a person of 1.7 m. Mechanical."""
_THIGH, _SHANK, _FOOT, _HALF_SHOULDER, _HALF_HIP = 0.43, 0.42, 0.16, 0.19, 0.10
"""The same of legs, and half widths. Mechanical."""
_SIGNS = {"working": 1.0, "other": -1.0}
"""Which way a side lies. Mechanical."""

_LEGS: Mapping[str, tuple[tuple[float, float], tuple[float, float]]] = {
    "standing": ((0.0, -1.0), (0.0, -1.0)),
    "sitting": ((1.0, -0.05), (0.0, -1.0)),
    "kneeling": ((0.0, -1.0), (-1.0, 0.0)),
    "hands-and-knees": ((0.0, -1.0), (-1.0, 0.0)),
    "lying": ((0.72, 0.70), (0.45, -0.90)),
    "prone": ((-1.0, 0.0), (-1.0, 0.0)),
}
"""Thigh and shank by position, as how far ahead and up they point of somebody who stands. Mechanical."""
_PITCH_DEG = {"lying": -90.0, "prone": 90.0, "hands-and-knees": 90.0}
"""How far the trunk is tipped forward. Mechanical."""


@dataclass(frozen=True, slots=True)
class Figure:
    """Joints in metres: right of the picture, up, and toward the camera.

    Names are ``head``, ``face``, and ``shoulder``, ``elbow``, ``wrist``, ``hand``, ``hip``, ``knee``,
    ``ankle``, ``toe`` of ``working`` and ``other``, joined by a space. ``floor`` is its height.
    """

    joints: Mapping[str, FloatArray]
    floor: float


@dataclass(frozen=True, slots=True)
class _Basis:
    """Where a body's working side, front and head point."""

    side: FloatArray
    front: FloatArray
    up: FloatArray

    def tipped(self, pitch_deg: float) -> "_Basis":
        """The same body tipped forward."""
        c, s = cos(radians(pitch_deg)), sin(radians(pitch_deg))
        return _Basis(self.side, c * self.front - s * self.up, c * self.up + s * self.front)


def figure(
    position: str, poses: DrawnPoses, *, both_arms: bool, top: bool, yaw_deg: float
) -> Figure:
    """The figure at the start or at the ``top``, its right arm working.

    ``position`` is the exercise's; ``yaw_deg`` is how far the working side is turned toward the
    camera. A left arm is its mirror image.
    """
    arm = poses.end if top else poses.start
    arms = {"working": arm, "other": arm if both_arms else poses.other}
    shift = poses.shift_cm / 100 if top else 0.0
    held = "standing" if position == "any" else position
    yaw = radians(yaw_deg)
    upright = _Basis(
        np.array([-cos(yaw), 0.0, sin(yaw)]),
        np.array([sin(yaw), 0.0, cos(yaw)]),
        np.array([0.0, 1.0, 0.0]),
    )
    match held:
        case "push-up":
            joints = _push_up(upright, arms, poses.support == "knees", shift)
        case "side-lying":
            joints = _side_lying(upright, arms, poses.lies_on)
        case "hands-and-knees":
            joints = _hands_and_knees(upright, arms)
        case "standing" if poses.support == "wall-front" and both_arms and not shift:
            joints = _at_wall(upright, arms, poses)
        case _:
            trunk = upright.tipped(_PITCH_DEG.get(held, poses.trunk_lean_forward_deg))
            joints = _body(trunk, upright, _LEGS[held], arms, shift)
    return Figure(joints, _floor(joints))


def _body(
    trunk: _Basis,
    upright: _Basis,
    legs: tuple[tuple[float, float], tuple[float, float]],
    arms: Mapping[str, ArmPose],
    shift: float = 0.0,
) -> dict[str, FloatArray]:
    """All joints from the middle of the hips on, legs as somebody upright would have them."""
    neck = _TRUNK * trunk.up
    head = neck + _NECK * trunk.up
    joints = {"head": head, "face": head + 0.13 * trunk.front}
    thigh, shank = (_unit(ahead * upright.front + up * upright.up) for ahead, up in legs)
    toe = upright.front if abs(legs[1][1]) > abs(legs[1][0]) else shank
    for name, sign in _SIGNS.items():
        hip = sign * _HALF_HIP * trunk.side
        shoulder = neck + sign * _HALF_SHOULDER * trunk.side + shift * trunk.front
        upper, fore = (
            sign * d[0] * trunk.side + d[1] * trunk.front + d[2] * trunk.up
            for d in arm_directions(arms[name])
        )
        elbow = shoulder + _UPPER_ARM * upper
        wrist = elbow + _FOREARM * fore
        knee = hip + _THIGH * thigh + 0.02 * sign * trunk.side
        ankle = knee + _SHANK * shank
        joints |= {
            f"{name} shoulder": shoulder,
            f"{name} elbow": elbow,
            f"{name} wrist": wrist,
            f"{name} hand": wrist + _HAND * fore,
            f"{name} hip": hip,
            f"{name} knee": knee,
            f"{name} ankle": ankle,
            f"{name} toe": ankle + _FOOT * _unit(toe),
        }
    return joints


def _push_up(
    upright: _Basis, arms: Mapping[str, ArmPose], on_knees: bool, shift: float
) -> dict[str, FloatArray]:
    """A straight body, tipped until the hands are on the floor."""
    last = "knee" if on_knees else "ankle"

    def tipped(pitch_deg: float) -> dict[str, FloatArray]:
        trunk = upright.tipped(pitch_deg)
        along = (-sin(radians(pitch_deg)), -cos(radians(pitch_deg)))
        legs = (along, (-0.8, 0.6) if on_knees else along)
        joints = _body(trunk, upright, legs, arms, shift)
        for name in _SIGNS if not on_knees else ():
            joints[f"{name} toe"] = joints[f"{name} ankle"] - 0.10 * upright.up
        return joints

    def above(pitch_deg: float) -> float:
        joints = tipped(pitch_deg)
        foot = joints[f"working {last}"] - (0.0 if on_knees else 0.10) * upright.up
        return float((joints["working wrist"] - foot) @ upright.up)

    return tipped(_root(above, 45.0, 110.0))


def _hands_and_knees(upright: _Basis, arms: Mapping[str, ArmPose]) -> dict[str, FloatArray]:
    """A trunk over hands and knees, its shoulders higher or its hips further back until both touch."""

    def rocked(back_deg: float, pitch_deg: float = 90.0) -> dict[str, FloatArray]:
        thigh = (sin(radians(back_deg)), -cos(radians(back_deg)))
        return _body(upright.tipped(pitch_deg), upright, (thigh, (-1.0, 0.0)), arms)

    def above(joints: Mapping[str, FloatArray]) -> float:
        return float((joints["working wrist"] - joints["working knee"]) @ upright.up)

    if above(rocked(0.0)) < 0:
        return rocked(0.0, _root(lambda pitch: above(rocked(0.0, pitch)), 55.0, 90.0))
    return rocked(_root(lambda back: above(rocked(back)), 0.0, 80.0))


def _side_lying(
    upright: _Basis, arms: Mapping[str, ArmPose], lies_on: str
) -> dict[str, FloatArray]:
    """On one side, the knees a little bent."""
    way = 1.0 if lies_on == "other" else -1.0
    trunk = _Basis(way * upright.up, upright.front, -way * upright.side)
    return _body(trunk, trunk, ((0.55, -0.83), (-0.60, -0.80)), arms)


def _at_wall(
    upright: _Basis, arms: Mapping[str, ArmPose], poses: DrawnPoses
) -> dict[str, FloatArray]:
    """A straight body that leans in until its hands reach the wall at the distance of the start."""

    def leaning(lean_deg: float, pair: Mapping[str, ArmPose]) -> dict[str, FloatArray]:
        tip = upright.tipped(lean_deg)
        along = (-sin(radians(lean_deg)), -cos(radians(lean_deg)))
        return _body(tip, upright, (along, along), pair)

    def reach(joints: Mapping[str, FloatArray]) -> float:
        return float((joints["working wrist"] - joints["working ankle"]) @ upright.front)

    before = {name: poses.start for name in arms}
    wall = reach(leaning(_LEAN_AT_WALL_DEG, before))
    lean = _root(lambda deg: reach(leaning(deg, arms)) - wall, 0.0, 40.0)
    return leaning(lean, arms)


_LEAN_AT_WALL_DEG = 6.0
"""How somebody with the hands on a wall leans at the start. Mechanical."""


def _root(of: Callable[[float], float], low: float, high: float) -> float:
    """Where ``of`` changes its sign, by halving; the end that is nearer to it if it does not."""
    if of(low) * of(high) > 0:
        return min((low, high), key=lambda at: abs(of(at)))
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if of(low) * of(middle) > 0 else (low, middle)
    return (low + high) / 2


def _unit(vector: FloatArray) -> FloatArray:
    return np.asarray(vector / np.linalg.norm(vector))


def _floor(joints: Mapping[str, FloatArray]) -> float:
    return float(min(joint[1] for joint in joints.values()))
