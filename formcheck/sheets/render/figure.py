"""An exercise drawn: a figure at the start and at the end, as the camera should see it.

The working arm is drawn thick and dark, a broken line shows the way of the hand (of the elbow, for
circles), so that it reads without colour.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import cos, radians, sin

import numpy as np
from jinja2 import Environment
from markupsafe import Markup

from formcheck.catalogue.arrays import FloatArray
from formcheck.catalogue.views import GENERAL_YAW_DEG, FilmingView
from formcheck.exercises.schema import Exercise, Part
from formcheck.filming.figure import ArmPose
from formcheck.filming.poses import DrawnPoses, drawn_poses
from formcheck.filming.stick_figure import Figure, figure

_UNITS_PER_M = 100.0
"""Scale of the drawing. Mechanical."""
_MARGIN = 20.0
"""Room around the figure in drawing units. Mechanical."""
_PITCH_DEG = {"prone": 24.0, "side-lying": 18.0, "lying": 14.0}
_USUAL_PITCH_DEG = 9.0
"""How far the camera looks down, so that what points at it can be told. Mechanical."""
_STEPS = 16
"""Pieces of the way that a hand goes. Mechanical."""
_CIRCLE_DEG = 30.0
"""Half the opening of the cone that the upper arm draws in a circle. A proposal."""
_SHORTEST_WAY = 14.0
"""A way shorter than this, in drawing units, is not drawn. Mechanical."""
_SEEN_WAY = 26.0
"""Where a way looks shorter than this, the figure is turned a little to show it. Mechanical."""
_TURNS_DEG = (0.0, -40.0, 40.0)
"""How far it may be turned from where the camera stands. Mechanical."""
_PRONE_YAW_DEG = 42.0
"""Somebody on their front is drawn from nearer the head, so that both arms show. Mechanical."""
_LIMBS = (
    ("leg", ("hip", "knee", "ankle", "toe")),
    ("arm", ("shoulder", "elbow", "wrist", "hand")),
)


@dataclass(frozen=True, slots=True)
class DrawnFigure:
    """Start and end of an exercise as SVG; ``end`` is None where it looks like the start."""

    start: Markup
    end: Markup | None


@dataclass(frozen=True, slots=True)
class _Limb:
    kind: str
    path: str
    depth: float


def draw_exercise(
    environment: Environment,
    exercise: Exercise,
    part: Part | None,
    side: str,
    labels: tuple[str, str],
    *,
    standalone: bool = False,
) -> DrawnFigure:
    """Start and end, ``labels`` telling them to those who do not see them.

    ``side`` is the working side; of both or alternating arms the right one is drawn to move.
    ``standalone`` drawings carry their own styles, for the PDF.
    """
    poses = drawn_poses(exercise, part)
    circle = (part or exercise).movement == "circle"
    seen = _best_camera(exercise, poses, mirrored=side == "left", circle=circle)
    both = exercise.arms == "both"
    pair = [
        figure(exercise.position, poses, both_arms=both, top=top, yaw_deg=seen.yaw_deg)
        for top in (False, True)
    ]
    ways = [_way(exercise, poses, seen, who, circle=circle) for who in _WHO[: 2 if both else 1]]
    least = 0.0 if poses.shift_cm > 0 else _SHORTEST_WAY
    points = [seen.flat(joint) for one in pair for joint in one.joints.values()]
    box = _box(points + [point for way in ways for point in way])

    def drawn(one: Figure, label: str, shown: Sequence[_Way]) -> Markup:
        svg = environment.get_template("figure.svg.jinja").render(
            box=box,
            floor=_floor(poses, one, seen),
            limbs=_limbs(one, seen, both),
            head=seen.flat(one.joints["head"]),
            face=seen.flat(one.joints["face"]) if seen.shows_face(one) else None,
            torso=_polygon(one, seen),
            ways=[(_path(way), _tip(way)) for way in shown if _length(way) > least],
            support=_support(poses, one, seen),
            label=label,
            standalone=standalone,
        )
        return Markup(svg)  # noqa: S704 - made by our own template, which escapes

    if poses.start == poses.end and not poses.shift_cm:
        return DrawnFigure(drawn(pair[0], labels[0], ways if circle else ()), None)
    return DrawnFigure(drawn(pair[0], labels[0], ()), drawn(pair[1], labels[1], ways))


_Way = Sequence[tuple[float, float]]
_WHO = ("working", "other")


def _best_camera(
    exercise: Exercise, poses: DrawnPoses, *, mirrored: bool, circle: bool
) -> "_Camera":
    """Where the exercise is best filmed from, or turned from there if the way could not be seen."""
    view = exercise.filming.best[0]
    yaw_deg = GENERAL_YAW_DEG.get(view, 90.0 if view in _SIDES else 0.0)
    if exercise.position == "prone":
        yaw_deg = _PRONE_YAW_DEG
    pitch_deg = _PITCH_DEG.get(exercise.position, _USUAL_PITCH_DEG)
    turned = [_Camera(yaw_deg + turn, pitch_deg, mirrored) for turn in _TURNS_DEG]
    lengths = [_length(_way(exercise, poses, one, "working", circle=circle)) for one in turned]
    fixed = exercise.position not in _TURNABLE or poses.support == "wall-front"
    if lengths[0] >= _SEEN_WAY or fixed:
        return turned[0]
    return turned[lengths.index(max(lengths))]


_TURNABLE = ("standing", "sitting", "kneeling", "any")
_SIDES = (FilmingView.LEFT, FilmingView.RIGHT)


@dataclass(frozen=True, slots=True)
class _Camera:
    yaw_deg: float
    pitch_deg: float
    mirrored: bool

    def flat(self, joint: FloatArray) -> tuple[float, float]:
        """Across and down in the drawing."""
        c, s = cos(radians(self.pitch_deg)), sin(radians(self.pitch_deg))
        across = -joint[0] if self.mirrored else joint[0]
        up = joint[1] * c - joint[2] * s
        return round(across * _UNITS_PER_M, 1), round(-up * _UNITS_PER_M, 1)

    def depth(self, joint: FloatArray) -> float:
        """How near a joint is to the camera."""
        c, s = cos(radians(self.pitch_deg)), sin(radians(self.pitch_deg))
        return float(joint[2] * c + joint[1] * s)

    def shows_face(self, one: Figure) -> bool:
        return self.depth(one.joints["face"]) > self.depth(one.joints["head"]) - 0.05


def _floor(poses: DrawnPoses, one: Figure, seen: _Camera) -> float | None:
    """Where the floor line lies; None on a bench, where hands hang below it in the picture."""
    if poses.support == "bench":
        return None
    return max(seen.flat(joint)[1] for joint in one.joints.values()) + 6


def _limbs(one: Figure, seen: _Camera, both: bool) -> tuple[list[_Limb], list[_Limb]]:
    """The limbs behind the trunk and those before it, far ones first."""
    limbs = []
    for kind, names in _LIMBS:
        for who in ("working", "other"):
            joints = [one.joints[f"{who} {name}"] for name in names]
            works = kind == "arm" and (who == "working" or both)
            depth = float(np.mean([seen.depth(joint) for joint in joints[1:]]))
            path = _path([seen.flat(joint) for joint in joints])
            limbs.append(_Limb(f"{kind} works" if works else kind, path, depth))
    middle = float(np.mean([seen.depth(one.joints[name]) for name in _TORSO]))
    limbs.sort(key=lambda limb: limb.depth)
    behind = [limb for limb in limbs if limb.depth < middle]
    return behind, [limb for limb in limbs if limb.depth >= middle]


_TORSO = ("working shoulder", "other shoulder", "other hip", "working hip")


def _polygon(one: Figure, seen: _Camera) -> str:
    return _path([seen.flat(one.joints[name]) for name in _TORSO]) + "Z"


def _way(
    exercise: Exercise, poses: DrawnPoses, seen: _Camera, who: str, *, circle: bool
) -> list[tuple[float, float]]:
    """The way of the hand from start to end, or once round of the elbow."""
    if circle:
        steps = [replace(poses, end=_round(poses.start, k / _STEPS)) for k in range(_STEPS - 2)]
        joint = f"{who} elbow"
    else:
        steps = [_between(poses, k / _STEPS) for k in range(_STEPS + 1)]
        joint = f"{who} hand"
    both = exercise.arms == "both"
    figures = (
        figure(exercise.position, one, both_arms=both, top=True, yaw_deg=seen.yaw_deg)
        for one in steps
    )
    return [seen.flat(one.joints[joint]) for one in figures]


def _between(poses: DrawnPoses, share: float) -> DrawnPoses:
    values = {
        axis: (1 - share) * getattr(poses.start, axis) + share * getattr(poses.end, axis)
        for axis in ("elevation", "plane", "rotation", "elbow")
    }
    return replace(poses, end=ArmPose(**values), shift_cm=share * poses.shift_cm)


def _round(arm: ArmPose, share: float) -> ArmPose:
    """The arm at a share of the circle around where it starts."""
    turn = 2 * np.pi * share
    lift = _CIRCLE_DEG * float(np.cos(turn))
    out = _CIRCLE_DEG * float(np.sin(turn)) / max(float(np.sin(np.radians(arm.elevation))), 0.4)
    return replace(arm, elevation=max(arm.elevation + lift, 0.0), plane=arm.plane + out)


def _support(poses: DrawnPoses, one: Figure, seen: _Camera) -> str:
    """A wall or a table as the edge that the camera sees."""
    joints: Mapping[str, FloatArray] = one.joints
    floor, hand = one.floor, joints["working hand"]
    front = joints["face"] - joints["head"]
    front = front * np.array([1.0, 0.0, 1.0])
    front = front / max(float(np.linalg.norm(front)), 1e-6)
    side = joints["working shoulder"] - joints["other shoulder"]
    side = side / float(np.linalg.norm(side))
    match poses.support:
        case "wall-front":
            foot = hand + 0.02 * front
        case "wall-back" if abs(front[0]) > _EDGE_ON:
            foot = joints["head"] - 0.16 * front
        case "bench":
            corners = [joints["head"], joints["other ankle"]]
            return _path([seen.flat(corner - np.array([0.0, 0.2, 0.0])) for corner in corners])
        case "wall-side":
            reach = max(float((joints[name] - joints["working shoulder"]) @ side) for name in _ARM)
            foot = joints["working shoulder"] + (max(reach, 0.1) + 0.05) * side
        case "table":
            rest = joints["other hand"]
            corners = [rest + at * front for at in (-0.05, 0.45)]
            corners.append(np.array([corners[1][0], floor, corners[1][2]]))
            return _path([seen.flat(corner) for corner in corners])
        case _:
            return ""
    low, high = (np.array([foot[0], y, foot[2]]) for y in (floor, floor + 2.05))
    return _path([seen.flat(low), seen.flat(high)])


_EDGE_ON = 0.5
"""A wall is drawn as an edge if it stands at least so square to the picture. Mechanical."""
_ARM = ("working elbow", "working wrist", "working hand")


def _box(points: Sequence[tuple[float, float]]) -> tuple[float, float, float, float]:
    """Left, top, width and height that hold all points with room around."""
    x, y = zip(*points, strict=True)
    left, top = min(x) - _MARGIN, min(y) - _MARGIN
    width, height = max(x) + _MARGIN - left, max(y) + _MARGIN - top
    return round(left, 1), round(top, 1), round(width, 1), round(height, 1)


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:g} {y:g}" for x, y in points) if points else ""


def _length(points: Sequence[tuple[float, float]]) -> float:
    return sum(float(np.hypot(b[0] - a[0], b[1] - a[1])) for a, b in pairwise(points))


def _tip(points: Sequence[tuple[float, float]]) -> str:
    """An arrowhead at the end of a way."""
    if len(points) < 2:
        return ""
    (x0, y0), (x1, y1) = points[-2:]
    size = float(np.hypot(x1 - x0, y1 - y0)) or 1.0
    ux, uy = (x1 - x0) / size, (y1 - y0) / size
    left = (x1 - 8 * ux + 5 * uy, y1 - 8 * uy - 5 * ux)
    right = (x1 - 8 * ux - 5 * uy, y1 - 8 * uy + 5 * ux)
    return _path([(round(x, 1), round(y, 1)) for x, y in (left, (x1, y1), right)])
