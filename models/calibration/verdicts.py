"""Verdicts against the truth: is a fault found where the camera can see it, and only where it is?

Each made clip of a library exercise is checked as formcheck does it. Then the same checks are read
off the truth, over the same repetitions, and the two verdicts are laid beside each other.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.measures import MEASURES
from formcheck.catalogue.views import FilmingView
from formcheck.checks.decision import middle
from formcheck.checks.judge import judge_reps
from formcheck.checks.result import Finding
from formcheck.checks.statistics import read_check
from formcheck.exercises.library import load_exercise
from formcheck.exercises.schema import Check
from formcheck.measures.measure import measure_track
from formcheck.measures.table import MeasureTable, Series, column_name
from formcheck.movements.segment import find_reps, working_sides
from models.calibration.dataset import track_of
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
    "upper_arm_to_vertical",
)  # fmt: skip
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
    ``probability`` that which formcheck gives to its being outside. ``usual`` is the middle of the
    target, ``seen_from`` the view that formcheck measured, and ``has_habit`` whether a verdict undoes
    the habit of the estimators there.
    """

    measure: str
    view: str
    truth: str
    verdict: str
    kind: str
    error: float | None
    sd: float | None
    value: float | None = None
    true: float = 0.0
    usual: float = 0.0
    beyond: float = 0.0
    probability: float | None = None
    seen_from: FilmingView | None = None
    has_habit: bool = False


def rulings(clip: Clip, view: str, truth: dict[str, dict[str, Array]]) -> list[Ruling]:
    """Both verdicts of every check of every repetition of a clip.

    ``truth`` holds the true measures by side, ``left`` and ``right``, and of the ``trunk``.
    """
    name = EXERCISES.get(clip.about["movement"])
    if name is None or (clip.about["posture"] == "supine" and name != "bent-elbow-circle"):
        return []
    exercise = load_exercise("bent-elbow-circle-lying" if _lies(clip.about) else name)
    table = measure_track(track_of(clip))
    sides = working_sides(table, exercise)
    if not sides or any(problem.fatal for problem in table.problems):
        return []
    true = _true_table(table, truth)
    found = []
    for judged in judge_reps(table, exercise, find_reps(table, exercise, sides)):
        if judged.rep.partial:
            continue
        checks = {check.id: check for check in exercise.checks}
        for finding in judged.findings:
            check = checks[finding.id]
            if not MEASURES[check.measure].over_time or not _known(true, check):
                continue
            value = read_check(true, judged.rep, _of_truth(check)).value
            if value is not None:
                ruling = _ruling(check, view, value, finding)
                found.append(replace(ruling, seen_from=table.view.name.general))
    return found


def _of_truth(check: Check) -> Check:
    """The check as the truth is read by: a spread is corrected for habits that only readings have."""
    return check.model_copy(update={"statistic": "range"}) if check.statistic == "spread" else check


def _ruling(check: Check, view: str, truth: float, finding: Finding) -> Ruling:
    change = ", change" if check.relative else ""
    return Ruling(
        measure=check.measure,
        view=view,
        truth=_where(check, truth),
        verdict=finding.verdict,
        kind=f"{check.measure}, {check.statistic}{change}",
        error=None if finding.value is None else abs(finding.value - truth),
        sd=finding.uncertainty,
        value=finding.value,
        true=truth,
        usual=middle(check),
        beyond=_beyond(check, truth) / max(check.tolerance, LEAST_TOLERANCE),
        probability=finding.probability_outside,
        has_habit=not check.relative and check.statistic not in ("range", "value"),
    )


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


def _true_table(table: MeasureTable, truth: dict[str, dict[str, Array]]) -> MeasureTable:
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
            *reliability(found),
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


_BINS = (0.0, 0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.95, 1.0)
"""Edges of the probabilities that are told of together."""


def reliability(found: list[Ruling]) -> list[str]:
    """The parts of the report on how often what was said came true."""
    return [
        "## How often verdicts are wrong\n",
        f"Of all verdicts `within`, those whose true value lies beyond a limit by more than {CLEARLY:g} "
        f"tolerances, and of all `outside` those whose true value lies inside by more than that.\n",
        table("measure, view", _wrong_rows(found), _WRONG_HEAD),
        "## Probabilities said, and how often it happened\n",
        "All measurable checks by the probability of being outside that was said of them.\n",
        table("said", _said_rows(found), _SAID_HEAD),
    ]


def _wrong_rows(found: Iterable[Ruling]) -> list[tuple[str, list[str]]]:
    groups: dict[tuple[str, str], list[Ruling]] = {}
    for one in found:
        groups.setdefault((one.measure, one.view), []).append(one)
    rows = []
    for (measure, view), members in sorted(groups.items()):
        within = [one.beyond > CLEARLY for one in members if one.verdict == "within"]
        outside = [one.beyond < -CLEARLY for one in members if one.verdict == "outside"]
        cells = [str(len(within)), _percent(within), str(len(outside)), _percent(outside)]
        rows.append((f"{measure}, {view}", cells))
    return rows


def _said_rows(found: Iterable[Ruling]) -> Iterable[tuple[str, list[str]]]:
    said = [(one.probability, one.beyond > 0) for one in found if one.probability is not None]
    for low, high in pairwise(_BINS):
        here = [(p, out) for p, out in said if low <= p < high or (p == high == 1.0)]
        if here:
            p, out = np.array(here, dtype=float).T
            name = f"{100 * low:g} to {100 * high:g} %"
            yield name, [str(len(here)), f"{100 * p.mean():.1f} %", f"{100 * out.mean():.1f} %"]


def _percent(wrong: list[bool]) -> str:
    return f"{100 * np.mean(wrong):.0f} %" if wrong else "-"


_WRONG_HEAD = ("within", "of them truly outside", "outside", "of them truly within")
_SAID_HEAD = ("checks", "said on average", "happened")
