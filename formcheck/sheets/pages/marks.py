"""The marks of the pages: the shape that stands for a verdict, for one check or a repetition."""

from dataclasses import dataclass
from typing import Literal

from formcheck.catalogue.codes import Verdict
from formcheck.checks.result import Finding, JudgedRep
from formcheck.exercises.schema import Check, Exercise
from formcheck.words.words import Words

MarkName = Verdict | Literal["partial"]
_LEAST_SD = 1e-6
"""Keeps a margin from being divided by nothing. Mechanical."""


@dataclass(frozen=True, slots=True)
class Mark:
    """The shape that stands for a verdict: where the dot lies against the two rails.

    ``below`` is True where the value lies under the target rather than over it.
    """

    name: MarkName
    word: str
    below: bool = False


def mark_of(finding: Finding, words: Words) -> Mark:
    """The mark of one check."""
    return Mark(finding.verdict, words(f"verdict.{finding.verdict}"), below=_is_below(finding))


def deciding_finding(judged: JudgedRep, exercise: Exercise | None) -> Finding | None:
    """The finding that decides a repetition's mark, or None if nothing is outside or borderline.

    Outside goes before borderline, then importance decides, then how sure it is to be outside.
    """
    order = {check.id: check.importance.rank for check in _checks(exercise)}
    for verdict in (Verdict.OUTSIDE, Verdict.BORDERLINE):
        found = [finding for finding in judged.findings if finding.verdict == verdict]
        if found:
            return min(
                found,
                key=lambda one: (order.get(one.id, len(order)), _margin_in_uncertainties(one)),
            )
    return None


def _margin_in_uncertainties(finding: Finding) -> float:
    return (finding.margin or 0.0) / max(finding.uncertainty or 0.0, _LEAST_SD)


def rep_mark(judged: JudgedRep, exercise: Exercise | None, words: Words) -> Mark:
    """The mark of a whole repetition."""
    if judged.rep.partial:
        return Mark("partial", words("verdict.partial"))
    worst = deciding_finding(judged, exercise)
    if worst is not None:
        return mark_of(worst, words)
    seen = any(finding.verdict == Verdict.WITHIN for finding in judged.findings)
    name = Verdict.WITHIN if seen else Verdict.NOT_MEASURABLE
    return Mark(name, words(f"verdict.{name}"))


def _checks(exercise: Exercise | None) -> tuple[Check, ...]:
    return exercise.checks if exercise else ()


def _is_below(finding: Finding) -> bool:
    if finding.value is None:
        return False
    if finding.low is None or finding.high is None:
        return finding.low is not None
    return finding.value < (finding.low + finding.high) / 2
