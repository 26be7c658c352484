"""The door of the room: repetitions, table and exercise in; judged repetitions and a summary out."""

from collections.abc import Sequence
from dataclasses import replace

from formcheck.catalogue.codes import Importance, Message, ReasonCode, Verdict
from formcheck.catalogue.measures import MEASURES, Scope
from formcheck.checks.cues import (
    BetterView,
    choose_cues,
    choose_praise,
    not_measured,
)
from formcheck.checks.result import Finding, JudgedRep, Summary
from formcheck.checks.rounds import round_messages, rounds_by_side
from formcheck.checks.statistics import read_check, side_of
from formcheck.checks.verdict import judge
from formcheck.exercises.schema import Check, Exercise
from formcheck.measures.table import MeasureTable
from formcheck.movements.types import Rep

WEIGHTS = {
    Importance.SAFETY: 3.0,
    Importance.POSITION: 2.0,
    Importance.RANGE: 2.0,
    Importance.TEMPO: 1.0,
}
"""How much a check counts in the score. A proposal."""
CREDIT = {Verdict.WITHIN: 1.0, Verdict.BORDERLINE: 0.7, Verdict.OUTSIDE: 0.0}
"""The share of its weight that a check earns. A proposal."""
MIN_COVERAGE = 0.3
"""Less of the weight of all checks judged than this gives no score. A proposal."""


def judge_reps(
    table: MeasureTable, exercise: Exercise, reps: Sequence[Rep]
) -> tuple[JudgedRep, ...]:
    """Every check of every repetition. Partial ones are judged as far as they can be, never scored."""
    return tuple(_judge_rep(table, exercise, rep) for rep in reps)


def _judge_rep(table: MeasureTable, exercise: Exercise, rep: Rep) -> JudgedRep:
    found = [
        (check, _finding(table, one, check))
        for check in exercise.checks_of(rep.part)
        for one in _measured_on(rep, check)
    ]
    checks, findings = zip(*found, strict=True) if found else ((), ())
    score, coverage = score_findings(checks, findings)
    return JudgedRep(rep, None if rep.partial else score, coverage, findings)


def _measured_on(rep: Rep, check: Check) -> tuple[Rep, ...]:
    """Each arm's own repetition where both are done at once; the trunk has only one."""
    of_trunk = MEASURES[check.measure].scope is Scope.TRUNK
    return (rep,) if of_trunk or not rep.arms else rep.arms


def _finding(table: MeasureTable, rep: Rep, check: Check) -> Finding:
    finding = replace(judge(check, read_check(table, rep, check)), side=side_of(rep, check))
    return _as_far_as_seen(finding, rep.reason) if rep.partial else finding


def _as_far_as_seen(finding: Finding, reason: ReasonCode | None) -> Finding:
    """The finding of a repetition that is not whole, kept only if the rest could not change it.

    A maximum over its limit stays over it whatever follows, and so does a minimum under its limit;
    any other fault may come from the missing part and is not measurable.
    """
    if finding.verdict not in (Verdict.OUTSIDE, Verdict.BORDERLINE) or finding.value is None:
        return finding
    over = finding.high is not None and finding.value > finding.high
    if finding.statistic in (("max", "worst", "value") if over else ("min", "worst")):
        return finding
    not_whole = Message(reason or ReasonCode.NOT_WHOLE)
    return replace(finding, verdict=Verdict.NOT_MEASURABLE, margin=None, reason=not_whole)


def score_findings(
    checks: Sequence[Check], findings: Sequence[Finding]
) -> tuple[int | None, float]:
    """Score 0-100 from the measurable checks by weight, and the share of weight they make up."""
    total = earned = judged = 0.0
    for check, finding in zip(checks, findings, strict=True):
        weight = WEIGHTS[check.importance]
        total += weight
        if finding.verdict != Verdict.NOT_MEASURABLE:
            judged += weight
            earned += weight * CREDIT[finding.verdict]
    coverage = judged / total if total else 0.0
    score = round(100 * earned / judged) if coverage >= MIN_COVERAGE else None
    return score, round(coverage, 3)


def summarise(
    exercise: Exercise, reps: Sequence[JudgedRep], better_view: BetterView = lambda _: None
) -> Summary:
    """The set as a whole, from its whole repetitions; ``better_view`` says where else to film from."""
    whole = [judged for judged in reps if not judged.rep.partial]
    scores = [judged.score for judged in whole if judged.score is not None]
    rounds = rounds_by_side(exercise, reps)
    unmeasured, film_anew = not_measured(exercise, whole, better_view)
    return Summary(
        score=round(sum(scores) / len(scores)) if scores else None,
        cues=choose_cues(exercise, whole, rounds),
        praise=choose_praise(exercise, whole),
        not_measured=unmeasured,
        film_anew=film_anew,
        look_yourself=exercise.look_yourself,
        rounds=round_messages(exercise, rounds),
    )
