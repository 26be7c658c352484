"""The package's entry point: repetitions, table and exercise in; judged repetitions and a summary out."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import sqrt

from formcheck.catalogue.codes import Importance, Message, ReasonCode, Verdict
from formcheck.catalogue.measures import MEASURES, Scope
from formcheck.checks.cues import (
    BetterView,
    choose_cues,
    choose_praise,
    not_measured,
)
from formcheck.checks.reading_errors import errors_of
from formcheck.checks.result import Finding, JudgedRep, LimitReport, Summary
from formcheck.checks.rounds import round_messages, rounds_by_side
from formcheck.checks.statistics import read_check, side_of
from formcheck.checks.verdict import judge
from formcheck.exercises.schema import DEFAULT_DECISION, Check, Decision, Exercise
from formcheck.measures.table import MeasureTable
from formcheck.movements.types import Rep

WEIGHTS = {
    Importance.SAFETY: 3.0,
    Importance.POSITION: 2.0,
    Importance.RANGE: 2.0,
    Importance.TEMPO: 1.0,
}
"""How much a check counts in the score. A proposal."""
_UNSAFE = (Verdict.OUTSIDE, Verdict.BORDERLINE)


def judge_reps(
    table: MeasureTable, exercise: Exercise, reps: Sequence[Rep]
) -> tuple[JudgedRep, ...]:
    """Every check of every repetition. Partial ones are judged as far as they can be, never scored."""
    return tuple(_judge_rep(table, exercise, rep) for rep in reps)


def _judge_rep(table: MeasureTable, exercise: Exercise, rep: Rep) -> JudgedRep:
    found = [
        (check, _finding(table, exercise, one, check))
        for check in exercise.checks_of(rep.part)
        for one in _measured_on(rep, check)
    ]
    checks, findings = zip(*found, strict=True) if found else ((), ())
    scored = score_findings(checks, findings, exercise.decision)
    score = None if rep.partial else scored.score
    uncertainty = None if score is None else scored.uncertainty
    return JudgedRep(rep, score, scored.coverage, findings, uncertainty)


def _measured_on(rep: Rep, check: Check) -> tuple[Rep, ...]:
    """Each arm's own repetition where both are done at once; the trunk has only one."""
    of_trunk = MEASURES[check.measure].scope is Scope.TRUNK
    return (rep,) if of_trunk or not rep.arms else rep.arms


def _finding(table: MeasureTable, exercise: Exercise, rep: Rep, check: Check) -> Finding:
    reading, errors = read_check(table, rep, check), errors_of(check, rep.kind)
    judged = judge(check, reading, exercise.decision, errors)
    finding = replace(judged, side=side_of(rep, check))
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
    return replace(
        finding,
        verdict=Verdict.NOT_MEASURABLE,
        margin=None,
        probability_outside=None,
        reason=Message(reason or ReasonCode.NOT_WHOLE),
    )


@dataclass(frozen=True, slots=True)
class Score:
    """``score`` 0-100 with its standard ``uncertainty``, and the share of weight it rests on."""

    score: int | None
    uncertainty: float
    coverage: float


def score_findings(
    checks: Sequence[Check], findings: Sequence[Finding], decision: Decision = DEFAULT_DECISION
) -> Score:
    """The expected share of what was done as prescribed, from the measurable checks by weight.

    Each check was passed or not, with a variance of p (1 - p). The checks of one measure rest on
    one reading and err together, so that their standard uncertainties are added; those of different
    measures are taken as independent and added in squares. There is no score where less than
    ``scored_from`` of the weight could be measured, nor where what makes the exercise could not, nor
    where a limit of safety was passed or may have been, which no number may outweigh.
    """
    total = expected = judged = 0.0
    spread: dict[str, float] = {}
    for check, finding in zip(checks, findings, strict=True):
        weight = WEIGHTS[check.importance]
        total += weight
        if finding.probability_outside is not None:
            passed = 1 - finding.probability_outside
            judged += weight
            expected += weight * passed
            spread.setdefault(check.measure, 0.0)
            spread[check.measure] += weight * sqrt(passed * (1 - passed))
    coverage = judged / total if total else 0.0
    unseen = any(f.essential and f.probability_outside is None for f in findings)
    unsafe = any(f.safety_limit and f.verdict in _UNSAFE for f in findings)
    if not judged or unseen or unsafe or coverage < decision.scored_from:
        return Score(None, 0.0, round(coverage, 3))
    uncertainty = 100 * sqrt(sum(one**2 for one in spread.values())) / judged
    return Score(round(100 * expected / judged), round(uncertainty, 1), round(coverage, 3))


def summarise(
    exercise: Exercise,
    reps: Sequence[JudgedRep],
    better_view: BetterView = lambda _: None,
    limits: Sequence[LimitReport] = (),
) -> Summary:
    """The set as a whole, from its whole repetitions; ``better_view`` says where else to film from.

    Where a limit of safety was passed, or may have been, nobody is scored, praised or asked for more.
    """
    alarmed = any(limit.state.alarming for limit in limits)
    whole = [judged for judged in reps if not judged.rep.partial]
    scored = [judged for judged in whole if judged.score is not None and not alarmed]
    rounds = rounds_by_side(exercise, reps)
    unmeasured, film_anew = not_measured(exercise, whole, better_view)
    return Summary(
        score=round(_mean([judged.score for judged in scored])) if scored else None,
        cues=() if alarmed else choose_cues(exercise, whole, rounds),
        praise=None if alarmed else choose_praise(exercise, whole),
        not_measured=unmeasured,
        film_anew=film_anew,
        look_yourself=exercise.look_yourself,
        rounds=round_messages(exercise, rounds),
        # The errors of one clip are common to its repetitions: their mean is no surer than each.
        score_uncertainty=round(_mean([judged.score_uncertainty for judged in scored]), 1)
        if scored
        else None,
    )


def _mean(numbers: Sequence[float | None]) -> float:
    return sum(number or 0.0 for number in numbers) / len(numbers)
