"""Where a measured angle lies in the picture, if it does, in the terms of goniometry.

The fulcrum is the joint's centre, the stationary arm the direction of zero, the moving arm the
segment whose angle is measured.
"""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.landmarks.track import Joint, LandmarkTrack
from formcheck.measures.table import Side

_AGREES_DEG = 12.0
"""An angle is drawn where what the picture shows is this near to what was measured. A proposal."""
_WIDE_DEG = 20.0
"""Angles from which the way an angle opens is read: about zero it flickers. A proposal."""


@dataclass(frozen=True, slots=True)
class JointAngle:
    """An angle as seen in the picture, in pixels: it opens from ``zero_rad`` in ``sense``.

    ``sense`` is 1 clockwise and -1 the other way; ``arm_px`` is the length of the moving arm.
    """

    fulcrum: FloatArray
    zero_rad: float
    sense: float
    arm_px: float

    def ray(self, angle_deg: float, length_px: float) -> FloatArray:
        """The point at an angle and a distance from the fulcrum, in pixels."""
        direction = self.zero_rad + self.sense * np.radians(angle_deg)
        return self.fulcrum + length_px * np.array([np.cos(direction), np.sin(direction)])


def angle_in_picture(
    body: FloatArray, measure: str, side: Side | None, value_deg: float, sense: float
) -> JointAngle | None:
    """The angle of a measure, or None where the picture does not show it as it was measured.

    ``body`` is (33, 2). An angle turned away from the camera looks different from what it is, so
    it is drawn only where what is seen agrees with ``value_deg``.
    """
    arms = _goniometer(body, measure, side)
    if arms is None or not np.isfinite(value_deg):
        return None
    fulcrum, stationary, moving = arms
    seen_deg = _between(stationary, moving)
    if abs(abs(seen_deg) - value_deg) > _AGREES_DEG:
        return None
    zero_rad = float(np.arctan2(stationary[1], stationary[0]))
    return JointAngle(fulcrum, zero_rad, sense, float(np.linalg.norm(moving)))


def seen_angle_deg(body: FloatArray, measure: str, side: Side | None) -> float:
    """The signed angle of a measure as the picture shows it, clockwise positive; NaN without one."""
    arms = _goniometer(body, measure, side)
    return _between(*arms[1:]) if arms else float("nan")


def opening_sense(track: LandmarkTrack, measure: str, side: Side | None) -> float:
    """Which way the angle opens in this clip's picture: 1 clockwise, -1 the other way."""
    bodies = track.image_px[track.tracked][:, :, :2]
    seen = [_between(*arms[1:]) for body in bodies if (arms := _goniometer(body, measure, side))]
    wide = [angle for angle in seen if abs(angle) > _WIDE_DEG]
    return float(np.sign(np.median(wide))) if wide else 1.0


def _goniometer(
    body: FloatArray, measure: str, side: Side | None
) -> tuple[FloatArray, FloatArray, FloatArray] | None:
    """Fulcrum, stationary arm and moving arm, or None for a measure without them."""
    shoulders = (body[Joint.LEFT_SHOULDER] + body[Joint.RIGHT_SHOULDER]) / 2
    hips = (body[Joint.LEFT_HIP] + body[Joint.RIGHT_HIP]) / 2
    if side is not None:
        shoulder = body[Joint[f"{side.upper()}_SHOULDER"]]
        elbow = body[Joint[f"{side.upper()}_ELBOW"]]
        wrist = body[Joint[f"{side.upper()}_WRIST"]]
        match measure:
            case "shoulder_elevation":
                return shoulder, hips - shoulders, elbow - shoulder
            case "upper_arm_to_vertical":
                return shoulder, np.array([0.0, 1.0]), elbow - shoulder
            case "elbow_flexion":
                return elbow, elbow - shoulder, wrist - elbow
    if measure == "trunk_lean_side":
        return hips, np.array([0.0, -1.0]), shoulders - hips
    return None


def _between(zero: FloatArray, arm: FloatArray) -> float:
    """Signed angle from one direction to the other in degrees, clockwise positive."""
    cross = zero[0] * arm[1] - zero[1] * arm[0]
    return float(np.degrees(np.arctan2(cross, zero @ arm)))
