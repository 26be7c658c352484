"""Limits of safety, with the burden of proof reversed.

Any other check blames only where it is sure. A limit that must never be passed counts as kept only
where it was surely kept, in every repetition; a clip that shows none of the exercise is judged from
its first moment to its last, as such a limit holds whatever is done.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace

from formcheck.catalogue.codes import LimitState, Message, ReasonCode, Verdict
from formcheck.catalogue.views import FilmingView
from formcheck.checks.result import Finding, JudgedRep, LimitReport
from formcheck.checks.statistics import read_check
from formcheck.checks.verdict import judge
from formcheck.exercises.schema import Check, Exercise
from formcheck.measures.table import SIDES, MeasureTable, Side
from formcheck.movements.types import Rep

_STATES = {
    Verdict.OUTSIDE: LimitState.PASSED,
    Verdict.BORDERLINE: LimitState.PERHAPS_PASSED,
    Verdict.NOT_MEASURABLE: LimitState.UNCHECKED,
    Verdict.WITHIN: LimitState.KEPT,
}
"""What the verdicts on repetitions say of a limit, the gravest first."""


def limit_reports(
    exercise: Exercise,
    reps: Sequence[JudgedRep],
    better_view_of: Callable[[Check], FilmingView | None] = lambda _: None,
) -> tuple[LimitReport, ...]:
    """What became of each limit over all repetitions, those that are not whole too."""
    found = []
    for part, check in exercise.all_checks:
        if check.safety_limit:
            mine = [
                finding
                for judged in reps
                for finding in judged.findings
                if finding.id == check.id and part in (None, judged.rep.part)
            ]
            found.append(_report(check, mine, better_view_of))
    return tuple(sorted(found, key=lambda one: one.state.rank))


def limits_of_clip(
    table: MeasureTable,
    exercise: Exercise,
    sides: Sequence[Side] = SIDES,
    better_view_of: Callable[[Check], FilmingView | None] = lambda _: None,
) -> tuple[LimitReport, ...]:
    """What became of each limit over the whole clip, whatever was done in it."""
    first, last = float(table.time_s[0]), float(table.time_s[-1])
    found = []
    for check in exercise.checks:
        if check.safety_limit:
            mine = [
                judge(
                    check,
                    read_check(table, Rep(0, "rep", side, True, first, first, last, last), check),
                    exercise.decision,
                )
                for side in sides
            ]
            # An arm that is not in view at all says nothing about the one that works.
            seen = [finding for finding in mine if finding.value is not None]
            found.append(replace(_report(check, seen or mine, better_view_of), per_clip=True))
    return tuple(sorted(found, key=lambda one: one.state.rank))


def _report(
    check: Check,
    findings: Sequence[Finding],
    better_view_of: Callable[[Check], FilmingView | None],
) -> LimitReport:
    verdict = next(
        (one for one in _STATES if any(finding.verdict is one for finding in findings)),
        Verdict.NOT_MEASURABLE,
    )
    mine = [finding for finding in findings if finding.verdict is verdict]
    worst = max(mine, key=lambda one: one.probability_outside or 0.0, default=None)
    unchecked = verdict == Verdict.NOT_MEASURABLE
    reason = (worst.reason if worst else None) or Message(ReasonCode.NOT_SEEN)
    return LimitReport(
        check_id=check.id,
        measure=check.measure,
        state=_STATES[verdict],
        low=check.limits[0],
        high=check.limits[1],
        unit=worst.unit if worst else "",
        value=worst.value if worst else None,
        uncertainty=worst.uncertainty if worst else None,
        at_s=worst.at_s if worst else None,
        times_seen=len(mine),
        among=len(findings),
        cue=check.cue,
        reason=reason if unchecked else None,
        better_view=better_view_of(check) if unchecked else None,
    )
