"""The door of the room: repetitions, table and exercise in; judged repetitions, dose, summary out."""

from collections.abc import Sequence

from formcheck.checks.cues import choose_cues, choose_praise, not_measured
from formcheck.checks.result import DoseCount, Finding, JudgedRep, Summary
from formcheck.checks.statistics import read_check
from formcheck.checks.verdict import judge
from formcheck.exercises.schema import Exercise, Importance
from formcheck.measures.table import MeasureTable
from formcheck.movements.types import Rep

WEIGHTS: dict[Importance, float] = {"safety": 3.0, "position": 2.0, "range": 2.0, "tempo": 1.0}
"""How much a check counts in the score (a proposal)."""
CREDIT = {"within": 1.0, "borderline": 0.7, "outside": 0.0}
MIN_COVERAGE = 0.3
"""Less of a repetition judged than this gives no score."""
HOLD_SLACK_S = 0.5
"""A hold counts as long enough within half a second, which is how well it can be timed."""


def judge_reps(
    table: MeasureTable, exercise: Exercise, reps: Sequence[Rep]
) -> tuple[JudgedRep, ...]:
    """Every check of every repetition. Partial ones are judged too but never scored."""
    return tuple(_judge_rep(table, exercise, rep) for rep in reps)


def _judge_rep(table: MeasureTable, exercise: Exercise, rep: Rep) -> JudgedRep:
    findings = tuple(judge(check, read_check(table, rep, check)) for check in exercise.checks)
    score, coverage = score_findings(exercise, findings)
    return JudgedRep(rep, None if rep.partial else score, coverage, findings)


def score_findings(exercise: Exercise, findings: Sequence[Finding]) -> tuple[int | None, float]:
    """Score 0-100 from the measurable checks by weight, and the share of weight they make up."""
    total = earned = judged = 0.0
    for check, finding in zip(exercise.checks, findings, strict=True):
        weight = WEIGHTS[check.importance]
        total += weight
        if finding.verdict != "not-measurable":
            judged += weight
            earned += weight * CREDIT[finding.verdict]
    coverage = judged / total if total else 0.0
    score = round(100 * earned / judged) if coverage >= MIN_COVERAGE else None
    return score, round(coverage, 3)


def count_dose(exercise: Exercise, reps: Sequence[JudgedRep], sides: Sequence[str]) -> DoseCount:
    """Whole repetitions against the prescribed count of one set, for each side that worked."""
    dose = exercise.dose
    whole = [judged.rep for judged in reps if not judged.rep.partial]
    groups = ["both"] if exercise.arms == "both" else list(sides)
    counted: dict[str, object] = {"count": len(whole)}
    numbers = []
    for group in groups:
        mine = [rep for rep in whole if rep.side == group]
        if dose.per_direction:
            each = {d: sum(rep.direction == d for rep in mine) for d in ("forward", "backward")}
            counted[group] = each
            numbers += list(each.values())
        else:
            counted[group] = len(mine)
            numbers.append(len(mine))
    met = bool(numbers) and all(number >= dose.count for number in numbers)
    if exercise.movement == "hold":
        holds = [round(rep.hold_s, 2) for rep in whole if rep.hold_s is not None]
        counted["holds_s"] = holds
        if dose.hold_s is not None:
            met = met and all(hold >= dose.hold_s - HOLD_SLACK_S for hold in holds)
    prescribed: dict[str, object] = {
        "count": dose.count,
        "per_direction": dose.per_direction,
        "sets": dose.sets,
        "hold_s": dose.hold_s,
    }
    return DoseCount(prescribed, counted, met)


def summarise(exercise: Exercise, reps: Sequence[JudgedRep]) -> Summary:
    """The set as a whole, from its whole repetitions."""
    whole = [judged for judged in reps if not judged.rep.partial]
    scores = [judged.score for judged in whole if judged.score is not None]
    return Summary(
        score=round(sum(scores) / len(scores)) if scores else None,
        cues=choose_cues(exercise, whole),
        praise=choose_praise(exercise, whole),
        not_measured=not_measured(exercise, whole),
        look_yourself=exercise.look_yourself,
    )
