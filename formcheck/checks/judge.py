"""The door of the room: repetitions, table and exercise in; judged repetitions, dose, summary out."""

from collections.abc import Sequence
from dataclasses import replace

from formcheck.checks.cues import (
    BetterFrom,
    checks_for,
    choose_cues,
    choose_praise,
    not_measured,
)
from formcheck.checks.result import DoseCount, Finding, JudgedRep, Summary
from formcheck.checks.rounds import round_lines, rounds_by_side
from formcheck.checks.statistics import ONE_SIDED_95, read_check
from formcheck.checks.verdict import judge
from formcheck.exercises.schema import Check, Exercise, Importance
from formcheck.measures.table import MeasureTable
from formcheck.movements.rounds import rounds_of
from formcheck.movements.types import Rep

WEIGHTS: dict[Importance, float] = {"safety": 3.0, "position": 2.0, "range": 2.0, "tempo": 1.0}
"""How much a check counts in the score (a proposal)."""
CREDIT = {"within": 1.0, "borderline": 0.7, "outside": 0.0}
MIN_COVERAGE = 0.3
"""Less of a repetition judged than this gives no score."""
NOT_WHOLE = "this repetition is not whole, so the rest of it may have been right"
HOLD_SLACK_S = 0.5
"""A hold counts as long enough within the tolerance of the exercise's check of it; where it has none,
within half a second, which is how well it can be timed."""


def judge_reps(
    table: MeasureTable, exercise: Exercise, reps: Sequence[Rep]
) -> tuple[JudgedRep, ...]:
    """Every check of every repetition. Partial ones are judged as far as they can be, never scored."""
    return tuple(_judge_rep(table, exercise, rep) for rep in reps)


def _judge_rep(table: MeasureTable, exercise: Exercise, rep: Rep) -> JudgedRep:
    checks = checks_for(exercise, rep.part)
    findings = tuple(judge(check, read_check(table, rep, check)) for check in checks)
    if rep.partial:
        findings = tuple(_as_far_as_seen(finding) for finding in findings)
    score, coverage = score_findings(checks, findings)
    return JudgedRep(rep, None if rep.partial else score, coverage, findings)


def _as_far_as_seen(finding: Finding) -> Finding:
    """The finding of a repetition that is not whole: a limit may seem passed for want of the rest.

    Only what more of it could not undo stays: more than is allowed at its most, less at its least.
    """
    if finding.verdict not in ("outside", "borderline") or finding.value is None:
        return finding
    over = finding.high is not None and finding.value > finding.high
    if finding.statistic in (("max", "worst", "value") if over else ("min", "worst")):
        return finding
    return replace(finding, verdict="not-measurable", margin=None, reason=NOT_WHOLE)


def score_findings(
    checks: Sequence[Check], findings: Sequence[Finding]
) -> tuple[int | None, float]:
    """Score 0-100 from the measurable checks by weight, and the share of weight they make up."""
    total = earned = judged = 0.0
    for check, finding in zip(checks, findings, strict=True):
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
    counted: dict[str, object] = {"count": len(whole)}
    groups = {
        group: [judged.rep for judged in reps if judged.rep.side == group]
        for group in (["both"] if exercise.arms == "both" else sides)
    }
    for group, mine in groups.items():
        counted[group], _ = _counted(exercise, mine)
    met = _met(exercise, list(groups.values()))
    holds = [round(rep.hold_s, 2) for rep in whole if rep.hold_s is not None]
    if holds:
        counted["holds_s"] = holds
        counted["long_enough"] = sum(_held(exercise, rep, doubtful=False) for rep in whole)
    rounds = rounds_by_side(exercise, reps)
    if not met and not all(one.certain for of_side in rounds.values() for one in of_side):
        met = None  # what seems left out may only not have been recognised
    prescribed: dict[str, object] = {
        "count": dose.count,
        "per_direction": dose.per_direction,
        "sets": dose.sets,
        "hold_s": dose.hold_s,
    }
    return DoseCount(prescribed, counted, met)


def _met(exercise: Exercise, groups: Sequence[Sequence[Rep]]) -> bool | None:
    """Whether each group reached the dose, counting what was held long enough; None where that hangs
    on holds that may have been.
    """
    for doubtful in (False, True):
        numbers = [n for reps in groups for n in _held_numbers(exercise, reps, doubtful=doubtful)]
        if numbers and min(numbers) >= exercise.dose.count:
            return None if doubtful else True
    return False


def _held_numbers(exercise: Exercise, reps: Sequence[Rep], *, doubtful: bool) -> list[int]:
    """The numbers of ``_counted`` of what was held long enough; a round needs all of its holds."""
    if not exercise.parts:
        held = [rep for rep in reps if _held(exercise, rep, doubtful=doubtful)]
        return _counted(exercise, held)[1]
    return [
        sum(
            one.whole and all(_held(exercise, rep, doubtful=doubtful) for rep in one.reps)
            for one in rounds_of(exercise, reps)
        )
    ]


def _held(exercise: Exercise, rep: Rep, *, doubtful: bool) -> bool:
    """Whether it was held long enough, or ``doubtful``: may have been."""
    if exercise.dose.hold_s is None or "hold" not in rep.measures:
        return True
    checks = checks_for(exercise, rep.part)
    slack_s = next((one.tolerance for one in checks if one.measure == "hold"), HOLD_SLACK_S)
    hold = rep.measures["hold"]
    room_s = ONE_SIDED_95 * hold.sd if doubtful else 0.0
    return hold.value >= exercise.dose.hold_s - slack_s - room_s


def _counted(exercise: Exercise, reps: Sequence[Rep]) -> tuple[object, list[int]]:
    """What one side did, as the result shows it, and the numbers that each must reach the dose."""
    done = [rep for rep in reps if not rep.partial]
    if exercise.parts:
        rounds = rounds_of(exercise, reps)
        whole = sum(one.whole for one in rounds)
        left_out = [list(one.missing) for one in rounds]
        too_few = [{short.part: short.done for short in one.short} for one in rounds]
        return {
            "cycles": len(rounds),
            "whole_cycles": whole,
            "left_out": left_out,
            "too_few": too_few,
        }, [whole]
    if exercise.dose.per_direction:
        each = {way: sum(rep.direction == way for rep in done) for way in ("forward", "backward")}
        return each, list(each.values())
    return len(done), [len(done)]


def summarise(
    exercise: Exercise, reps: Sequence[JudgedRep], better_from: BetterFrom = lambda _: None
) -> Summary:
    """The set as a whole, from its whole repetitions; ``better_from`` says where else to film from."""
    whole = [judged for judged in reps if not judged.rep.partial]
    scores = [judged.score for judged in whole if judged.score is not None]
    unmeasured, film_anew = not_measured(exercise, whole, better_from)
    return Summary(
        score=round(sum(scores) / len(scores)) if scores else None,
        cues=choose_cues(exercise, whole, rounds_by_side(exercise, reps)),
        praise=choose_praise(exercise, whole),
        not_measured=unmeasured,
        film_anew=film_anew,
        look_yourself=exercise.look_yourself,
        rounds=round_lines(exercise, rounds_by_side(exercise, reps)),
    )
