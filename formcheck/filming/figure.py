"""A figure that brings its arms into a pose and back, seen from any side, as the pose model would mark it.

It has no error of its own, so what formcheck measures of it is the best that a view can show.
"""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.landmarks.track import LANDMARK_COUNT, Joint, LandmarkTrack

_UPPER_ARM_M, _FOREARM_M, _TRUNK_M, _SHOULDER_M, _HIP_M = 0.30, 0.25, 0.49, 0.18, 0.10
"""Lengths of the figure's segments and half widths, about those of a person of 1.7 m. Mechanical.
"""
_SIZE, _PX_PER_M = (720, 1280), 400.0
"""Width and height of the picture, and the scale of the figure in it. Mechanical."""
_REST_S, _MOVE_S, _TOP_S, _RATE_HZ = 1.2, 0.8, 1.4, 15.0
"""How long the arms hang, move into the pose or out of it, and hold it: as in an exercise, since an arm
that never moves is read less surely. Mechanical."""
TOP_S = (_REST_S + _MOVE_S, _REST_S + _MOVE_S + _TOP_S)
"""When the pose is held, from and to. Mechanical."""
_BEHIND_M = 0.06
"""A hand this far behind the trunk, as the camera sees it, is hidden by it. A proposal."""


@dataclass(frozen=True, slots=True)
class ArmPose:
    """One arm, in degrees: elevation, its plane (0 to the side, 90 ahead), rotation, elbow bend."""

    elevation: float = 10.0
    plane: float = 30.0
    rotation: float = 0.0
    elbow: float = 10.0


def seen_from(yaw_deg: float, right: ArmPose, left: ArmPose) -> LandmarkTrack:
    """The figure with its right side turned ``yaw_deg`` toward the camera; in the poses at TOP_S."""
    time_s = np.arange(round((TOP_S[1] + _MOVE_S) * _RATE_HZ)) / _RATE_HZ
    shares = np.interp(time_s, (_REST_S, *TOP_S, TOP_S[1] + _MOVE_S), (0, 1, 1, 0))
    world, visibility = zip(*(_marks(yaw_deg, right, left, share) for share in shares), strict=True)
    places = np.array(world, np.float32)
    image = (places * _PX_PER_M + [_SIZE[0] / 2, _SIZE[1] / 2, 0]).astype(np.float32)
    return LandmarkTrack(
        time_s=time_s,
        image_px=image,
        world_m=places,
        visibility=np.array(visibility, np.float32),
        width=_SIZE[0],
        height=_SIZE[1],
        model="figure",
        model_sha256="",
    )


def _marks(
    yaw_deg: float, right: ArmPose, left: ArmPose, share: float
) -> tuple[FloatArray, FloatArray]:
    """Landmarks (33, 3) in camera axes and their visibility (33,), that far into the poses."""
    body = np.full((LANDMARK_COUNT, 3), np.nan)  # left, forward, up, from the middle of the hips
    for name, sign, pose in (("LEFT", 1.0, left), ("RIGHT", -1.0, right)):
        for joint, place in _side(sign, _on_the_way(pose, share)).items():
            body[Joint[f"{name}_{joint}"]] = place
    body[Joint.NOSE] = (0, 0.1, _TRUNK_M + 0.21)
    yaw = np.radians(yaw_deg)
    across = body[:, 0] * np.cos(yaw) + body[:, 1] * np.sin(yaw)
    away = body[:, 0] * np.sin(yaw) - body[:, 1] * np.cos(yaw)
    world = np.stack([across, -body[:, 2], away], axis=1)
    visibility = np.where(np.isfinite(across), 1.0, 0.0)
    visibility[_hidden(world)] = 0.1
    return np.nan_to_num(world), visibility


def _on_the_way(pose: ArmPose, share: float) -> ArmPose:
    """The pose that lies that far on the way from the hanging arm."""
    ends = ((getattr(ArmPose(), name), getattr(pose, name)) for name in ArmPose.__slots__)
    return ArmPose(*((1 - share) * first + share * last for first, last in ends))


def _side(sign: float, pose: ArmPose) -> dict[str, FloatArray]:
    upper, fore = arm_directions(pose)
    outward = np.array([sign, 1.0, 1.0])
    shoulder = np.array([sign * _SHOULDER_M, 0, _TRUNK_M])
    elbow = shoulder + _UPPER_ARM_M * upper * outward
    wrist = elbow + _FOREARM_M * fore * outward
    hip = np.array([sign * _HIP_M, 0, 0])
    return {
        "SHOULDER": shoulder,
        "ELBOW": elbow,
        "WRIST": wrist,
        "INDEX": wrist + 0.08 * fore * outward,
        "HIP": hip,
        "KNEE": hip - [0, 0, 0.42],
        "ANKLE": hip - [0, 0, 0.82],
        "EAR": np.array([sign * 0.07, 0, _TRUNK_M + 0.22]),
        "EYE": np.array([sign * 0.03, 0.08, _TRUNK_M + 0.24]),
    }


def arm_directions(pose: ArmPose) -> tuple[FloatArray, FloatArray]:
    """Unit upper arm and forearm as (outward, forward, up); rotation as tilt and torsion."""
    e, p, r, k = np.radians([pose.elevation, pose.plane, pose.rotation, pose.elbow])
    down, across = np.array([0.0, 0.0, -1.0]), np.array([np.cos(p), np.sin(p), 0.0])
    upper = np.cos(e) * down + np.sin(e) * across
    tilted = -np.sin(e) * down + np.cos(e) * across
    bent = np.array([-np.sin(r), np.cos(r), 0.0])
    along = bent @ across
    bent = bent - along * across + along * tilted
    return upper, np.cos(k) * upper + np.sin(k) * bent


def _hidden(world: FloatArray) -> BoolArray:
    """(33,) True for elbows and hands that the trunk is in front of."""
    shoulders = world[[Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER]]
    left, right = shoulders[:, 0].min() - 0.02, shoulders[:, 0].max() + 0.02
    middle = shoulders[:, 2].mean()
    behind = world[:, 2] > middle + _BEHIND_M
    inside = (world[:, 0] > left) & (world[:, 0] < right) & (world[:, 1] > -_TRUNK_M)
    arm = np.zeros(len(world), dtype=bool)
    for name in ("ELBOW", "WRIST", "INDEX"):
        arm[[Joint[f"LEFT_{name}"], Joint[f"RIGHT_{name}"]]] = True
    return np.asarray(arm & inside & behind & (world[:, 1] < 0.1))
