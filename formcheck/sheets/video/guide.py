"""What was off, drawn on a still: the line as it was, and the one that was asked for.

Of faults of time nothing is drawn, as no picture shows them, and of what is turned away from the
camera only a ring at the joint, as a line there would be wrong.
"""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.catalogue.measures import MEASURES
from formcheck.checks.result import Finding
from formcheck.landmarks.track import Joint
from formcheck.measures.table import SIDES, Side
from formcheck.sheets.video.anonymise import Picture, trunk_size
from formcheck.sheets.video.drawing import PAPER, RUST, dashed, ring, stroke
from formcheck.sheets.video.joint_angle import angle_in_picture, seen_angle_deg

_WITHOUT_PLACE = frozenset({"hold", "duration", "peak_speed", "steadiness", "roundness"})
_TRUNK_CM = 49.0
"""The trunk's length, shoulders to hips, by which centimetres are drawn. Common practice, no source."""
_RAY = 1.6
"""How far a ray is drawn past the segment whose angle it is, so that the two part. A proposal."""
_PLUMB = 1.6
"""How far a lean and its plumb line are drawn, in trunk lengths, to the top of the head. A proposal."""
_GAP_WIDTH = 0.32
"""Half the length of the levels of the shoulder, in trunk lengths. A proposal."""


@dataclass(frozen=True, slots=True)
class Guide:
    """Strokes in pixels: what was, what was asked for, and the joints that it is about."""

    actual: tuple[FloatArray, ...] = ()
    asked: tuple[FloatArray, ...] = ()
    joints: tuple[FloatArray, ...] = ()

    def __add__(self, other: "Guide") -> "Guide":
        return Guide(
            self.actual + other.actual, self.asked + other.asked, self.joints + other.joints
        )


def guide_for(finding: Finding, body: FloatArray) -> Guide:
    """The guide of a finding on a body (33, 2) in pixels: of one arm, or of both it is of both."""
    match finding.measure:
        case "hip_off_line" | "body_line":
            return _body_line(body)
        case "trunk_lean_side" | "trunk_lean_forward":
            return _lean(body)
        case "trunk_turn":
            return Guide(joints=(_middle(body, "SHOULDER"),))
    if finding.measure in _WITHOUT_PLACE:
        return Guide()
    sides = [side for side in SIDES if finding.side in (side, "both")]
    return sum((_of_arm(finding, body, side) for side in sides), Guide())


def draw_guide(picture: Picture, guide: Guide) -> None:
    """Draw a guide onto a still, in place."""
    unit = min(picture.shape[:2]) / 100
    for points in guide.asked:
        dashed(picture, points, PAPER, 1.2 * unit, 3 * unit)
    for points in guide.actual:
        stroke(picture, points, RUST, 1.5 * unit)
    for joint in guide.joints:
        ring(picture, joint, 5.5 * unit, RUST, 1.2 * unit)


def _of_arm(finding: Finding, body: FloatArray, side: Side) -> Guide:
    match finding.measure:
        case "shoulder_elevation" | "upper_arm_to_vertical" | "elbow_flexion":
            return _angle(finding, body, side)
        case "hike":
            return _hike(finding, body, side)
        case "hand_behind":
            return _from_back(finding, body, side)
    joint = Joint[f"{side.upper()}_{MEASURES[finding.measure].joint.upper()}"]
    return Guide(joints=(body[joint],))


def _middle(body: FloatArray, part: str) -> FloatArray:
    return np.asarray((body[Joint[f"LEFT_{part}"]] + body[Joint[f"RIGHT_{part}"]]) / 2)


def _body_line(body: FloatArray) -> Guide:
    shoulder, hip, ankle = (_middle(body, part) for part in ("SHOULDER", "HIP", "ANKLE"))
    return Guide((np.array([shoulder, hip, ankle]),), (np.array([shoulder, ankle]),), (hip,))


def _lean(body: FloatArray) -> Guide:
    hips, shoulders = _middle(body, "HIP"), _middle(body, "SHOULDER")
    along = (shoulders - hips) * _PLUMB
    up = np.array([0.0, -float(np.linalg.norm(along))])
    return Guide((np.array([hips, hips + along]),), (np.array([hips, hips + up]),), (shoulders,))


def _angle(finding: Finding, body: FloatArray, side: Side) -> Guide:
    """The moving segment, and a ray where its angle was asked to be."""
    joint = body[Joint[f"{side.upper()}_{'ELBOW' if 'elbow' in finding.measure else 'SHOULDER'}"]]
    limit = _limit_passed(finding)
    value = finding.value if finding.value is not None else np.nan
    seen_deg = seen_angle_deg(body, finding.measure, side)
    sense = float(np.sign(seen_deg)) or 1.0
    seen = angle_in_picture(body, finding.measure, side, value, sense)
    if seen is None or limit is None:
        return Guide(joints=(joint,))
    length = _RAY * seen.arm_px
    moving = np.array([seen.fulcrum, seen.ray(abs(seen_deg), length)])
    return Guide((moving,), (np.array([seen.fulcrum, seen.ray(limit, length)]),), (joint,))


def _hike(finding: Finding, body: FloatArray, side: Side) -> Guide:
    """The level of the shoulder as it was, with its gap to the ear, and the level asked for."""
    ear, shoulder = body[Joint[f"{side.upper()}_EAR"]], body[Joint[f"{side.upper()}_SHOULDER"]]
    hips, shoulders = _middle(body, "HIP"), _middle(body, "SHOULDER")
    size = trunk_size(body)
    up = (shoulders - hips) / max(float(np.linalg.norm(shoulders - hips)), 1.0)
    across = np.array([-up[1], up[0]])
    across *= 1.0 if float(across @ (shoulder - shoulders)) >= 0 else -1.0
    level = shoulder + up * float(up @ (ear - shoulder))

    def bar(at: FloatArray) -> FloatArray:
        return np.array([at - 0.4 * _GAP_WIDTH * size * across, at + _GAP_WIDTH * size * across])

    gap = np.array([shoulder, level])
    asked: tuple[FloatArray, ...] = ()
    if finding.value is not None and finding.high is not None:
        lower = max(finding.value - finding.high, 0.0) / _TRUNK_CM * size
        asked = (bar(shoulder - lower * up),)
    return Guide((gap, bar(shoulder)), asked)


def _from_back(finding: Finding, body: FloatArray, side: Side) -> Guide:
    """The hand's distance from the back, and the distance that was asked for."""
    wrist, shoulder = body[Joint[f"{side.upper()}_WRIST"]], body[Joint[f"{side.upper()}_SHOULDER"]]
    hip = body[Joint[f"{side.upper()}_HIP"]]
    along = (hip - shoulder) / max(float(np.linalg.norm(hip - shoulder)), 1.0)
    back = shoulder + along * float(along @ (wrist - shoulder))
    limit = _limit_passed(finding)
    away = wrist - back
    if limit is None or not finding.value or finding.value <= 0:
        return Guide((np.array([back, wrist]),), (), (wrist,))
    asked = back + away * float(limit / finding.value)
    return Guide((np.array([back, wrist]),), (np.array([back, asked]),), (wrist,))


def _limit_passed(finding: Finding) -> float | None:
    """The limit that the value lies beyond, or else the nearer one."""
    if finding.value is None:
        return None
    ends = [limit for limit in (finding.low, finding.high) if limit is not None]
    return min(ends, key=lambda end: abs(end - float(finding.value or 0.0)), default=None)
