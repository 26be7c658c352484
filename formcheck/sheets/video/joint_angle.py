"""Where a measured angle lies in the picture, if it does: its corner, its zero and its arm."""

from dataclasses import dataclass

import numpy as np

from formcheck.landmarks.track import FloatArray, Joint, LandmarkTrack
from formcheck.measures.table import Side

_AGREES_DEG = 12.0


@dataclass(frozen=True, slots=True)
class Corner:
    """An angle as seen in the picture: from ``zero_rad`` it opens by ``angle_deg`` in ``sense``."""

    at: FloatArray
    zero_rad: float
    angle_deg: float
    sense: float
    reach_px: float

    def ray(self, angle_deg: float, length_px: float) -> FloatArray:
        """The point at an angle and a distance from the corner, in pixels."""
        turn = self.zero_rad + self.sense * np.radians(angle_deg)
        return self.at + length_px * np.array([np.cos(turn), np.sin(turn)])


def corner(
    body: FloatArray, measure: str, side: Side | None, value_deg: float, sense: float
) -> Corner | None:
    """The corner of a measure, or None where the picture does not show the angle as measured.

    ``body`` is (33, 2). An angle turned away from the camera looks different from what it is, so
    it is drawn only where what is seen agrees with ``value_deg``.
    """
    sides = _arms(body, measure, side)
    if sides is None or not np.isfinite(value_deg):
        return None
    at, zero, arm = sides
    seen = _between(zero, arm)
    if abs(abs(seen) - value_deg) > _AGREES_DEG:
        return None
    reach = float(np.linalg.norm(arm))
    start = float(np.arctan2(zero[1], zero[0]))
    return Corner(at, start, value_deg, sense, reach)


def usual_sense(track: LandmarkTrack, measure: str, side: Side | None) -> float:
    """Which way the angle opens in this clip's picture: 1 clockwise, -1 the other way."""
    bodies = track.image_px[track.tracked][:, :, :2]
    seen = [_between(*arms[1:]) for body in bodies if (arms := _arms(body, measure, side))]
    wide = [angle for angle in seen if abs(angle) > 20]
    return float(np.sign(np.median(wide))) if wide else 1.0


def _arms(
    body: FloatArray, measure: str, side: Side | None
) -> tuple[FloatArray, FloatArray, FloatArray] | None:
    """Corner point, direction of zero and direction of the moving arm."""
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
