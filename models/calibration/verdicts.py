"""Verdicts against the truth: is a fault found where the camera can see it, and only where it is?

Each made clip of a library exercise is checked as formcheck does it. Then the same checks are read
off the truth, over the same repetitions, and the two verdicts are laid beside each other.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from multiprocessing import get_context
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.measures import MEASURES
from formcheck.checks.decision import middle
from formcheck.checks.judge import judge_reps
from formcheck.checks.reading_errors import kind_of
from formcheck.checks.result import Finding
from formcheck.checks.statistics import read_check
from formcheck.exercises.library import load_exercise
from formcheck.exercises.schema import Check, Exercise
from formcheck.measures.angles import (
    angle_between_deg,
    axial_rotation_deg,
    elevation_deg,
    forward_deg,
    plane_of_elevation_deg,
)
from formcheck.measures.measure import measure_track
from formcheck.measures.table import SIDES, MeasureTable, Series, Side, column_name
from formcheck.movements.segment import find_reps, working_sides
from formcheck.movements.signals import combined, usual_range
from formcheck.movements.types import Rep
from formcheck.recognise.position import another_position
from models.calibration.dataset import TARGETS, track_of, truth_for
from models.calibration.markdown import table
from models.calibration.shards import Clip

Array = NDArray[np.float64]
EXERCISES = {
    "scaption-raise": "scaption-raise",
    "side-raise": "side-raise",
    "front-raise": "front-raise",
    "elbow-curl": "elbow-curl",
    "external-rotation": "external-rotation-at-side",
    "internal-rotation": "internal-rotation-at-side",
    "belly-press": "belly-press",
    "bear-hug": "bear-hug-press",
    "lift-off": "lift-off",
    "high-rotation": "external-rotation-at-shoulder-height",
    "overhead-press": "overhead-press",
    "row": "row",
    "pull-apart": "band-pull-apart",
    "cross-body": "cross-body-stretch",
    "wall-slide": "wall-slide",
    "circles": "bent-elbow-circle",
    "push-up-plus": "push-up-plus",
}
"""Library exercise of each made movement that is one."""
ARM = (
    "elbow_flexion", "shoulder_elevation", "plane_of_elevation", "axial_rotation",
    "upper_arm_forward", "upper_arm_to_vertical",
)  # fmt: skip
_AT = {name: k for k, name in enumerate(TARGETS)}
TRUNK_CM = 49.0
"""Trunk length of the stature that formcheck assumes."""
NORMAL_RISE_CM = 1.9
"""Rise of the shoulder joint at 120 degrees of elevation without a hike, growing from 30 degrees."""
LEAST_TOLERANCE = 1e-6
"""Keeps a distance from being divided by nothing."""
CLEARLY = 0.5
"""A truth is clearly outside once it passes a limit by this share of the tolerance."""


@dataclass(frozen=True, slots=True)
class Ruling:
    """One check of one repetition: where the truth lies, and what formcheck says.

    ``beyond`` is how far the truth lies beyond the nearer limit, in tolerances, negative inside;
    ``probability`` that which formcheck gives to its being outside. ``clip``, ``check`` (with its
    exercise), ``side`` and ``start_s`` say where to look; ``value`` as read, ``true`` and ``usual``, the
    middle of the target, are in the unit of the measure; ``tells`` is the kind of the statistic.
    """

    measure: str
    view: str
    truth: str
    verdict: str
    kind: str
    error: float | None
    sd: float | None
    beyond: float = 0.0
    probability: float | None = None
    clip: str = ""
    check: str = ""
    side: str = ""
    start_s: float = 0.0
    value: float | None = None
    true: float = 0.0
    usual: float = 0.0
    tells: str = "value"


def all_rulings(clips: Iterable[Clip], workers: int = 1) -> list[Ruling]:
    """Both verdicts of every check of every repetition of clips of library exercises."""
    with get_context("spawn").Pool(workers) as pool:
        return [one for some in pool.imap(_of_clip, clips) for one in some]


def _of_clip(clip: Clip) -> list[Ruling]:
    truth = true_measures({side: arm_truth(clip, side) for side in SIDES})
    return rulings(clip, view_group(clip.about, "right").split(",")[0], truth)


def rulings(clip: Clip, view: str, truth: dict[str, dict[str, Array]]) -> list[Ruling]:
    """Both verdicts of every check of every repetition of a clip.

    ``truth`` holds the true measures by side, ``left`` and ``right``, and of the ``trunk``.
    """
    exercise = exercise_of(clip.about)
    if exercise is None:
        return []
    table = measure_track(track_of(clip))
    sides = judged_sides(table, exercise)
    if not sides:
        return []
    true, shown = true_table(table, truth), f"{clip.about['set']} {clip.about['index']}"
    found = []
    for judged in judge_reps(table, exercise, find_reps(table, exercise, sides)):
        if judged.rep.partial:
            continue
        checks = {check.id: check for check in exercise.checks}
        for finding in judged.findings:
            check = checks[finding.id]
            if not MEASURES[check.measure].over_time or not _known(true, check):
                continue
            own = next((arm for arm in judged.rep.arms if arm.side == finding.side), judged.rep)
            value = _true_value(true, own, check)
            if value is not None:
                ruling = _ruling(check, judged.rep, view, value, finding)
                place = f"{exercise.name}, {check.id}"
                found.append(replace(ruling, clip=shown, check=place, start_s=judged.rep.start_s))
    return found


def exercise_of(about: dict[str, Any]) -> Exercise | None:
    """The library exercise that a clip shows; None if it shows none."""
    name = EXERCISES.get(about["movement"])
    if name is None or (_lies(about) and name != "bent-elbow-circle"):
        return None
    return load_exercise("bent-elbow-circle-lying" if _lies(about) else name)


def judged_sides(table: MeasureTable, exercise: Exercise) -> tuple[Side, ...]:
    """The sides that formcheck judges in a clip; none where it refuses to judge it."""
    fatal = any(problem.fatal for problem in table.problems)
    if fatal or another_position(exercise, table):
        return ()
    return working_sides(table, exercise)


def _true_value(true: MeasureTable, rep: Rep, check: Check) -> float | None:
    """A check's statistic of the truth, a spread without the correction that only readings need."""
    if check.statistic != "spread":
        return read_check(true, rep, check).value
    with_extremes = check.model_copy(update={"statistic": "range"})
    if read_check(true, rep, with_extremes).value is None:
        return None
    first, last = (
        (rep.top_start_s, rep.top_end_s) if check.phase == "top" else (rep.start_s, rep.end_s)
    )
    sides = tuple(side for side in SIDES if rep.side in (side, "both"))
    values = combined(true, check.measure, sides).value
    during = (true.time_s >= first) & (true.time_s <= last) & np.isfinite(values)
    return usual_range(values[during])


def _ruling(check: Check, rep: Rep, view: str, truth: float, finding: Finding) -> Ruling:
    change = ", change" if check.relative else ""
    return Ruling(
        measure=check.measure,
        view=view,
        truth=_where(check, truth),
        verdict=finding.verdict,
        kind=f"{check.measure}, {check.statistic}{change}",
        error=None if finding.value is None else abs(finding.value - truth),
        sd=finding.uncertainty,
        beyond=_beyond(check, truth) / max(check.tolerance, LEAST_TOLERANCE),
        probability=finding.probability_outside,
        side=finding.side or "trunk",
        value=finding.value,
        true=truth,
        usual=middle(check),
        tells=kind_of(check, rep.kind),
    )


def arm_truth(clip: Clip, side: Side) -> dict[str, Array]:
    """True measures (n,) of one arm and of the trunk, as seen from it; NaN where there is none."""
    t = truth_for(clip, side)
    upper, fore, up = t[:, 0:3], t[:, 3:6], t[:, 8:11]
    elevation, elbow = elevation_deg(upper), angle_between_deg(upper, fore)
    off_poles = (elevation >= 30) & (elevation <= 150)
    return {
        "elbow_flexion": elbow,
        "shoulder_elevation": elevation,
        "plane_of_elevation": np.where(off_poles, plane_of_elevation_deg(upper), np.nan),
        "axial_rotation": np.where(elbow > 30, axial_rotation_deg(upper, fore), np.nan),
        "upper_arm_forward": forward_deg(upper),
        "upper_arm_to_vertical": angle_between_deg(upper, -up),
        "rise": 100 * t[:, _AT["rise"]],
        "trunk_lean_side": t[:, _AT["lean_side"]],
        "trunk_lean_forward": t[:, _AT["lean_forward"]],
        "trunk_turn": t[:, _AT["turn"]],
        "body_line": np.where(clip.about["posture"] == "push-up", t[:, _AT["body_line"]], np.nan),
    }


def arm_yaw_deg(about: dict[str, Any], side: Side) -> float:
    """0 front, 90 with this arm's side to the camera, -90 with the other side to it."""
    yaw = float(about["yaw_deg"])
    return yaw if side == "right" else -yaw


def view_group(about: dict[str, Any], side: Side) -> str:
    """The view group that tables are made by."""
    if about["posture"] not in ("standing", "sitting"):
        return "push-up" if about["posture"] == "push-up" else "lying"
    yaw_deg = arm_yaw_deg(about, side)
    if abs(yaw_deg) <= 30:
        return "front"
    if abs(yaw_deg) <= 60:
        return "oblique"
    if abs(yaw_deg) >= 120:
        return "back"
    return "side, near arm" if yaw_deg > 0 else "side, far arm"


def true_measures(arms: dict[str, dict[str, Array]]) -> dict[str, dict[str, Array]]:
    """Truth as ``rulings`` takes it, from that of both arms as the report has it."""
    trunk = ("trunk_lean_side", "trunk_lean_forward", "trunk_turn", "body_line")
    truth = {"trunk": {name: arms["right"][name] for name in trunk}}
    for side, arm in arms.items():
        truth[side] = {name: arm[name] for name in ARM}
        usual = NORMAL_RISE_CM * np.clip((arm["shoulder_elevation"] - 30) / 90, 0, 1.3)
        rise = arm["rise"] * TRUNK_CM / 100 - usual
        truth[side]["hike"] = rise - np.median(rise[:20])
    return truth


def _lies(about: dict[str, Any]) -> bool:
    return str(about["posture"]) == "supine"


def _known(true: MeasureTable, check: Check) -> bool:
    return (
        column_name(check.measure, "right" if MEASURES[check.measure].sided else None)
        in true.columns
    )


def true_table(table: MeasureTable, truth: dict[str, dict[str, Array]]) -> MeasureTable:
    """A table of true measures on the times of one that was read, as ``read_check`` takes it."""
    columns = {}
    for owner, measures in truth.items():
        for measure, values in measures.items():
            side = None if owner == "trunk" else owner
            columns[column_name(measure, side)] = Series(values, np.full(len(values), 1e-6))  # type: ignore[arg-type]
    return replace(table, columns=columns, gaps={})


def _beyond(check: Check, value: float) -> float:
    """How far a value lies beyond the nearer limit; inside, negative."""
    low, high = check.limits
    return max(
        -np.inf if low is None else low - value,
        -np.inf if high is None else value - high,
    )


def _where(check: Check, value: float) -> str:
    beyond = _beyond(check, value)
    if beyond <= 0:
        return "within"
    return "outside" if beyond > CLEARLY * check.tolerance else "near"


def sections(found: list[Ruling]) -> str:
    """The parts of the report on checks: verdicts, and the values that they rest on."""
    return "\n".join(
        [
            "## Verdicts compared with the truth\n",
            "Every check of every repetition in the clips that show an exercise of the library, "
            "from what was measured and from the true values. Cases in which the true value "
            "passes a limit by less than half the tolerance are left out. The true `hike` is "
            "counted from the rise that the elevation brings.\n",
            table("measure, view", _verdict_rows(found), _HEAD),
            "## The values of checks\n",
            "The same checks by how they reduce a repetition to one value. “Change”: counted from "
            "its own start.\n",
            table("measure, statistic", _value_rows(found), _VALUE_HEAD),
        ]
    )


def _value_rows(found: Iterable[Ruling]) -> Iterable[tuple[str, list[str]]]:
    groups: dict[str, list[tuple[float, float]]] = {}
    for one in found:
        if one.error is not None and one.sd is not None:
            groups.setdefault(one.kind, []).append((one.error, one.sd))
    for kind, pairs in sorted(groups.items()):
        error, sd = np.array(pairs).T
        inside = (f"{100 * np.mean(error <= k * sd):.0f}" for k in (1, 2))
        yield kind, [str(len(pairs)), f"{error.mean():.1f}", f"{np.median(sd):.1f}", *inside]


def _verdict_rows(found: Iterable[Ruling]) -> list[tuple[str, list[str]]]:
    """Rows of the report: by measure and view, what was said where the truth is within or clearly
    outside.
    """
    groups: dict[tuple[str, str], list[Ruling]] = {}
    for one in found:
        groups.setdefault((one.measure, one.view), []).append(one)
    rows = []
    for (measure, view), members in sorted(groups.items()):
        right = [m.verdict for m in members if m.truth == "within"]
        wrong = [m.verdict for m in members if m.truth == "outside"]
        cells = [str(len(right)), _share(right, "outside"), str(len(wrong))]
        cells += [_share(wrong, v) for v in ("outside", "borderline", "within", "not-measurable")]
        rows.append((f"{measure}, {view}", cells))
    return rows


_VALUE_HEAD = ("values", "mean error", "median sd", "% in 1 sd", "% in 2 sd")
_HEAD = (
    "truly within", "of them called outside", "truly outside", "found", "borderline", "missed",
    "not measurable",
)  # fmt: skip


def _share(verdicts: list[str], verdict: str) -> str:
    return f"{100 * np.mean([v == verdict for v in verdicts]):.0f} %" if verdicts else "-"
