"""Start and end of an exercise as they are drawn: the arm where this client's targets want it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from formcheck.exercises.schema import CHANGES, ArmAngles, Check, Drawing, Exercise, Part
from formcheck.filming.advice import pose_of
from formcheck.filming.figure import ArmPose

_AXES: Mapping[str, str] = {
    "shoulder_elevation": "elevation",
    "plane_of_elevation": "plane",
    "axial_rotation": "rotation",
    "elbow_flexion": "elbow",
}
_INSIDE_DEG = 4.0
"""A target that is open at one end is drawn so far inside it. A proposal."""
_EXCURSIONS = 3.0
"""Without a drawing in its file, an exercise moves by so many of its smallest excursions. A proposal."""
SHIFT_SHOWN_CM = 9.0
"""A travel of the shoulder as it is drawn, two to three times what it is. A proposal."""

Support = Literal["none", "wall-front", "wall-back", "wall-side", "table", "bench", "knees"]


@dataclass(frozen=True, slots=True)
class DrawnPoses:
    """The working arm at the start and at the end, and how the rest of the body is held.

    ``shift_cm`` is how far the shoulders travel forward to the end, where that is the movement.
    """

    start: ArmPose
    end: ArmPose
    other: ArmPose
    trunk_lean_forward_deg: float = 0.0
    support: Support = "none"
    lies_on: Literal["other", "working"] = "other"
    shift_cm: float = 0.0


def drawn_poses(exercise: Exercise, part: Part | None = None) -> DrawnPoses:
    """How start and end of an exercise, or of one of its parts, are drawn.

    The file's own drawing where it has one, each angle moved into what the checks ask for and the
    limits allow; so the targets of a programme move it too.
    """
    group = part or exercise
    checks = tuple(dict.fromkeys((*exercise.checks, *group.checks)))
    drawing = group.drawing
    start, end = _own(drawing) if drawing else _derived(group)
    start, end = _within(start, end, checks)
    poses = DrawnPoses(start, end, ArmPose(), shift_cm=_shift_cm(group))
    if drawing is None:
        return poses
    return replace(
        poses,
        other=_pose(drawing.other) if drawing.other else ArmPose(),
        trunk_lean_forward_deg=drawing.trunk_lean_forward,
        support=drawing.support,
        lies_on=drawing.lies_on,
    )


def _own(drawing: Drawing) -> tuple[ArmPose, ArmPose]:
    return _pose(drawing.start), _pose(drawing.end)


def _pose(angles: ArmAngles) -> ArmPose:
    return ArmPose(**{axis: getattr(angles, measure) for measure, axis in _AXES.items()})


def _derived(group: Exercise | Part) -> tuple[ArmPose, ArmPose]:
    """Start and end of an exercise without a drawing: the end from the checks, the start before it."""
    end, primary = pose_of(group), group.primary
    axis = _AXES.get(primary.measure)
    start = ArmPose() if group.movement == "hold" else end
    if axis and group.movement == "rep":
        way = -1 if primary.direction == "rise" else 1
        moved = getattr(end, axis) + way * _EXCURSIONS * primary.min_range
        start = replace(end, **{axis: max(moved, 0.0) if axis != "rotation" else moved})
    return start, end


def _within(start: ArmPose, end: ArmPose, checks: Iterable[Check]) -> tuple[ArmPose, ArmPose]:
    """Both poses with each angle moved into what is asked for, the tightest limits together."""
    poses = [start, end]
    targets: dict[tuple[int, str], tuple[list[float], list[float]]] = {}
    for check in checks:
        axis = _AXES.get(check.measure)
        if axis is None or check.relative or check.side == "other":
            continue
        values = [getattr(pose, axis) for pose in poses]
        for at, pair in enumerate(_asked(check, values)):
            known = targets.setdefault((at, axis), ([], []))
            for ends, value in zip(known, pair, strict=True):
                ends.extend([] if value is None else [value])
    for (at, axis), (lows, highs) in targets.items():
        low, high = max(lows, default=None), min(highs, default=None)
        value = _inside(getattr(poses[at], axis), low, high)
        poses[at] = replace(poses[at], **{axis: value})
    return poses[0], poses[1]


_Ends = tuple[float | None, float | None]
_OPEN: _Ends = (None, None)


def _asked(check: Check, values: Sequence[float]) -> tuple[_Ends, _Ends]:
    """The target of a check at the start and at the end, whose values are given.

    A highest or lowest value need only be reached at one of them, the one that comes nearer.
    """
    low, high = check.low, check.high
    if check.statistic in CHANGES:
        return _OPEN, _OPEN
    if check.phase in ("top", "start"):
        return (_OPEN, (low, high)) if check.phase == "top" else ((low, high), _OPEN)
    if check.statistic in ("worst", "mean"):
        return (low, high), (low, high)
    end_is_higher = values[1] >= values[0]
    if check.statistic == "max":
        return (None if end_is_higher else low, high), (low if end_is_higher else None, high)
    if check.statistic == "min":
        return (low, high if end_is_higher else None), (low, None if end_is_higher else high)
    return _OPEN, _OPEN


def _inside(value: float, low: float | None, high: float | None) -> float:
    """The value, or the nearest that lies well within."""
    if (low is None or value >= low) and (high is None or value <= high):
        return value
    if low is not None and high is not None:
        return (low + high) / 2
    return low + _INSIDE_DEG if low is not None else (high or 0.0) - _INSIDE_DEG


def _shift_cm(group: Exercise | Part) -> float:
    """How far the shoulders are drawn to travel: more than they do, or it could not be seen."""
    if group.primary.measure != "protraction":
        return 0.0
    return SHIFT_SHOWN_CM if group.primary.direction == "rise" else -SHIFT_SHOWN_CM
