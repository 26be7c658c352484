"""The marks of the pages: a gauge and a word for one check or a whole repetition."""

from dataclasses import dataclass
from typing import Literal

from formcheck.catalogue.codes import Verdict
from formcheck.checks.result import Finding, JudgedRep
from formcheck.exercises.schema import Check, Exercise
from formcheck.sheets.pages.gauge import Gauge, gauge_of, plain_gauge
from formcheck.words.words import Words

MarkName = Verdict | Literal["probably-fine", "partial", "done", "check-yourself", "look"]
CLIENT_MARKS: tuple[MarkName, ...] = (
    Verdict.WITHIN, "done", Verdict.BORDERLINE, Verdict.OUTSIDE, "check-yourself",
    Verdict.NOT_MEASURABLE, "partial",
)  # fmt: skip
"""What a client is told: of doubt without a sign of a fault nothing but that it was done."""
COACH_MARKS: tuple[MarkName, ...] = (
    Verdict.WITHIN, "probably-fine", Verdict.BORDERLINE, Verdict.OUTSIDE, "look",
    Verdict.NOT_MEASURABLE, "partial",
)  # fmt: skip
MOST_URGENT_FIRST: tuple[MarkName, ...] = (
    Verdict.OUTSIDE, Verdict.BORDERLINE, "look", "check-yourself", Verdict.NOT_MEASURABLE, "partial",
    "probably-fine", "done", Verdict.WITHIN,
)  # fmt: skip
"""All marks, those that most need a look first."""

_ESSENTIAL = 3
"""The tier of what makes the exercise and was not surely seen. Mechanical."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A verdict as a gauge and in a word."""

    name: MarkName
    word: str
    gauge: Gauge


def plain_mark(name: MarkName, words: Words) -> Mark:
    """The mark that stands for a verdict in general, of no value in particular."""
    return Mark(name, words(f"verdict.{name}"), plain_gauge(name))


def mark_of(finding: Finding, words: Words) -> Mark:
    """The mark of one check."""
    name: MarkName = "probably-fine" if finding.probably_fine else finding.verdict
    word = words(f"verdict.{name}")
    if finding.safety_limit and finding.verdict == Verdict.OUTSIDE:
        word = words("verdict.limit-passed")
    if finding.safety_limit and finding.verdict == Verdict.BORDERLINE:
        name, word = Verdict.BORDERLINE, words("verdict.limit-perhaps-passed")
    return Mark(name, word, gauge_of(finding))


def deciding_finding(judged: JudgedRep, exercise: Exercise | None) -> Finding | None:
    """The finding that decides a repetition's mark, or None if all that was measured is within.

    What is surely outside goes first, then what may have passed a limit of safety, then what is
    rather outside, then what makes the exercise and was not surely seen, then what is probably
    fine. Among like ones importance decides, then how probable it is to be outside.
    """
    order = {check.id: check.importance.rank for check in _checks(exercise)}
    found = [(tier, one) for one in judged.findings if (tier := _tier(one)) is not None]
    if not found:
        return None

    def place(entry: tuple[int, Finding]) -> tuple[int, int, float]:
        tier, one = entry
        return tier, order.get(one.id, len(order)), -(one.probability_outside or 0.0)

    return min(found, key=place)[1]


def _tier(finding: Finding) -> int | None:
    """How early a finding decides; None if it says nothing against the repetition."""
    unsure = finding.verdict in (Verdict.BORDERLINE, Verdict.NOT_MEASURABLE)
    tiers = (
        finding.verdict == Verdict.OUTSIDE,
        finding.safety_limit and finding.verdict == Verdict.BORDERLINE,
        finding.perhaps_not,
        finding.essential and unsure,
        finding.probably_fine,
    )
    return tiers.index(True) if any(tiers) else None


def rep_mark(judged: JudgedRep, exercise: Exercise | None, words: Words) -> Mark:
    """The mark of a whole repetition, for the coach."""
    if judged.rep.partial:
        return plain_mark("partial", words)
    worst = deciding_finding(judged, exercise)
    if worst is not None:
        if _tier(worst) == _ESSENTIAL:
            return plain_mark("look", words)
        return mark_of(worst, words)
    seen = any(finding.verdict == Verdict.WITHIN for finding in judged.findings)
    return plain_mark(Verdict.WITHIN if seen else Verdict.NOT_MEASURABLE, words)


def client_mark(judged: JudgedRep, exercise: Exercise | None, words: Words) -> Mark:
    """The mark of a whole repetition, for the client: doubt alone is no worry of theirs."""
    mark = rep_mark(judged, exercise, words)
    name: MarkName | None = {"probably-fine": "done", "look": "check-yourself"}.get(mark.name)  # type: ignore[assignment]
    return plain_mark(name, words) if name else mark


def _checks(exercise: Exercise | None) -> tuple[Check, ...]:
    return tuple(check for _, check in exercise.all_checks) if exercise else ()
