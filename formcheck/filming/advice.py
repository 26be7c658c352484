"""Which checks of an exercise each view can decide, by the same error model that judges clips."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial

import numpy as np

from formcheck.catalogue.measures import MEASURES
from formcheck.catalogue.quantity import Quantity
from formcheck.catalogue.views import GENERAL_YAW_DEG, FilmingView, MeasuredView
from formcheck.checks.judge import WEIGHTS
from formcheck.checks.reading_errors import errors_of
from formcheck.checks.statistics import START_S, read_check
from formcheck.checks.verdict import judge
from formcheck.exercises.schema import Check, Exercise, Part
from formcheck.filming.figure import TOP_S, ArmPose, seen_from
from formcheck.filming.observed_uncertainty import at_least_observed
from formcheck.measures.measure import measure_track
from formcheck.measures.table import MeasureTable
from formcheck.movements.circle_reps import RADIUS_SHARE_SD, ROUNDNESS_SD
from formcheck.movements.repetitions import (
    HOLD_SD_S,
    MIN_DURATION_SD_S,
    STEADINESS_SHARE,
    followed,
)
from formcheck.movements.signals import combined
from formcheck.movements.types import Rep

_AXES = {
    "shoulder_elevation": "elevation",
    "plane_of_elevation": "plane",
    "axial_rotation": "rotation",
    "elbow_flexion": "elbow",
}
_UPRIGHT = ("standing", "sitting", "kneeling", "any")
_BEYOND_DEG = 5.0
"""A target with one end is reached by a little more than that. A proposal."""
_AS_DEMANDED = {"hold": 5.0, "duration": 4.0, "roundness": 0.8, "follow_range": 2.5}
"""What the figure's repetition is taken to last and to be like, as exercises ask for it. A
proposal."""


@dataclass(frozen=True, slots=True)
class ViewAdvice:
    """What one view shows of an exercise; ``share`` is the weight of the checks it can decide."""

    view: FilmingView
    decided: tuple[Check, ...]
    undecided: tuple[Check, ...]
    share: float


def view_advice(exercise: Exercise) -> tuple[ViewAdvice, ...]:
    """Advice for each view: those that the exercise recommends, then the one that decides most.

    The figure holds the right pose at the top of the exercise, without any error of tracking but
    with at least the uncertainty observed on people who stand, sit or kneel. A real clip shows at
    best as much.
    """
    found = [_of_view(exercise, view) for view in GENERAL_YAW_DEG]
    best, usable = exercise.filming.best, exercise.filming.usable
    return tuple(
        sorted(found, key=lambda one: (one.view not in best, -one.share, one.view not in usable))
    )


def better_view(exercise: Exercise, filmed_from: MeasuredView, check: Check) -> FilmingView | None:
    """Where else to film from so that a check can be decided; None if from nowhere.

    ``filmed_from`` is the view of the clip: nobody is sent where they already stood.
    """
    for view in dict.fromkeys((*exercise.filming.best, *exercise.filming.usable, *GENERAL_YAW_DEG)):
        elsewhere = view in GENERAL_YAW_DEG and view is not filmed_from.general
        if elsewhere and check in _of_view(exercise, view).decided:
            return view
    return None


def decided_from_nowhere(exercise: Exercise) -> tuple[Check, ...]:
    """The checks that no view can decide, in the exercise's order."""
    first, *others = view_advice(exercise)
    return tuple(
        check
        for _, check in exercise.all_checks
        if check in first.undecided and all(check in one.undecided for one in others)
    )


@lru_cache(maxsize=256)
def _of_view(exercise: Exercise, view: FilmingView) -> ViewAdvice:
    decided, undecided = decidable(exercise, partial(table_seen, exercise, GENERAL_YAW_DEG[view]))
    total = sum(WEIGHTS[check.importance] for check in (*decided, *undecided))
    share = sum(WEIGHTS[check.importance] for check in decided) / total
    return ViewAdvice(view, decided, undecided, round(share, 3))


def decidable(
    exercise: Exercise, table_of: Callable[[ArmPose], MeasureTable]
) -> tuple[tuple[Check, ...], tuple[Check, ...]]:
    """The checks that can be decided, and those that cannot, by the tables of the figure that holds
    the right pose of each part.
    """
    decided: list[Check] = []
    undecided: list[Check] = []
    groups: Sequence[Exercise | Part] = exercise.parts or (exercise,)
    for group in groups:
        table = table_of(pose_of(group))
        rep = _rep(table, group)
        for check in dict.fromkeys((*exercise.checks, *group.checks)):
            reading, errors = read_check(table, rep, check), errors_of(check, rep.kind)
            verdict = judge(check, reading, exercise.decision, errors).verdict
            shown = verdict != "not-measurable" and not _head_rests(exercise, check)
            (decided if shown else undecided).append(check)
    return tuple(decided), tuple(undecided)


def table_seen(exercise: Exercise, yaw_deg: float, pose: ArmPose) -> MeasureTable:
    """The measures of the figure from one side, no surer than was observed."""
    other = pose if exercise.arms == "both" else ArmPose()
    table = measure_track(seen_from(yaw_deg, pose, other))
    if exercise.position in _UPRIGHT:
        table = at_least_observed(table, yaw_deg, pose.elevation)
    return table


def _head_rests(exercise: Exercise, check: Check) -> bool:
    """The figure stands; no view shows the hike of somebody who lies or leans on the hands."""
    return check.measure == "hike" and exercise.position not in _UPRIGHT


def pose_of(group: Exercise | Part) -> ArmPose:
    """The arm where the checks want it at the top."""
    wanted: dict[str, tuple[int, float]] = {}
    for check in group.checks:
        axis = _AXES.get(check.measure)
        if axis is None or check.relative or check.side == "other":
            continue
        away = check.statistic == ("min" if group.primary.direction == "rise" else "max")
        rank = 0 if check.phase == "top" else 2 if away else 1
        if axis not in wanted or rank < wanted[axis][0]:
            wanted[axis] = rank, _middle(check)
    return ArmPose(**{axis: value for axis, (_, value) in wanted.items()})


def _middle(check: Check) -> float:
    if check.low is not None and check.high is not None:
        return (check.low + check.high) / 2
    if check.low is not None:
        return check.low + _BEYOND_DEG
    return (check.high or 0.0) - _BEYOND_DEG


def _rep(table: MeasureTable, group: Exercise | Part) -> Rep:
    """A repetition that lasts while the figure holds the pose, with measures of its own."""
    first, last = TOP_S[0] + START_S, TOP_S[1] - START_S
    primary = group.primary
    unit = MEASURES[primary.measure].unit
    known = combined(table, primary.measure, ("right",)).sd
    sd = float(np.nanmedian(known)) if np.isfinite(known).any() else float("nan")
    follow = combined(table, primary.follow, ("right",)).sd if primary.follow else known
    follows = primary.follow is not None and bool(np.isfinite(follow).any())
    size = 3 * primary.min_range
    if group.movement == "circle":
        sd = RADIUS_SHARE_SD * size / 2
    measures = {
        "hold": Quantity(_AS_DEMANDED["hold"], HOLD_SD_S, "s"),
        "duration": Quantity(_AS_DEMANDED["duration"], MIN_DURATION_SD_S, "s"),
        "range": Quantity(size, sd, unit),
        "peak_speed": Quantity(size, sd, f"{unit}/s"),
        "follow_range": followed(_AS_DEMANDED["follow_range"] if follows else float("nan")),
        "steadiness": Quantity(0.0, STEADINESS_SHARE * sd, unit),
        "roundness": Quantity(_AS_DEMANDED["roundness"], ROUNDNESS_SD, ""),
    }
    kind = group.movement
    return Rep(0, kind, "right", False, first, first, last, last, measures=measures)
