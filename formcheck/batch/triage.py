"""Who needs a look first, and why: one level and one sentence for each clip."""

from collections.abc import Mapping

from formcheck.catalogue.codes import Importance, Verdict
from formcheck.checks.result import (
    ClipResult,
    DirectionCount,
    DoseCount,
    Finding,
    RepCount,
    RoundCount,
    SideCount,
)
from formcheck.exercises.schema import Exercise
from formcheck.sheets.pages.dose import held_line
from formcheck.words.labels import check_label
from formcheck.words.words import words_for

LEVELS = (
    "safety",
    "unseen",
    "unrecognised",
    "unusable",
    "work-on",
    "dose",
    "doubtful",
    "well",
)
"""Levels, most urgent first."""

_ENOUGH_COVERAGE = 0.5
"""Less of what should be judged than this could be measured, and somebody should look. A
proposal."""


def level_name(level: str) -> str:
    """What a level is called; a level that this version does not know, by its own name."""
    return words_for("en")(f"triage.level.{level}") if level in LEVELS else level


def triage(result: ClipResult, exercise: Exercise | None) -> tuple[str, str]:
    """Level and reason of a clip that was read."""
    words = words_for("en")
    if not result.usable or exercise is None:
        fatal = [problem for problem in result.problems if problem.fatal]
        why = words.tell(fatal[0].message) if fatal else words("triage.cannot_be_judged")
        return "unusable", why
    whole = [judged for judged in result.reps if not judged.rep.partial]
    outside = _outside(result, exercise)
    for weight, findings in outside:
        if weight == Importance.SAFETY:
            return "safety", _sentence(findings, len(whole))
    if result.another_exercise:
        return "unrecognised", words.tell(result.another_exercise.message)
    if outside:
        return "work-on", _sentence(outside[0][1], len(whole))
    if not whole:
        return "dose", words("triage.no_repetition")
    if result.dose.met is False:
        told = (
            words("triage.counted", counted=counted(result.dose)),
            held_line(result.dose, words),
        )
        return "dose", " ".join(filter(None, told))
    coverage = sum(judged.coverage for judged in whole) / len(whole)
    if coverage < _ENOUGH_COVERAGE:
        return "doubtful", words("triage.doubtful", share=coverage)
    return "well", words("triage.well")


def counted(dose: DoseCount) -> str:
    """``8 of 10``; each set, side or direction by itself where there are several."""
    sets = dose.counted.by_set
    if not sets:
        return _counted(dose, dose.counted.by_side)
    told = (f"set {number}: {_counted(dose, one)}" for number, one in enumerate(sets, start=1))
    return "; ".join(told)


def _counted(dose: DoseCount, by_side: Mapping[str, SideCount]) -> str:
    wanted = dose.prescribed.count if dose.prescribed else "?"
    parts = []
    for side, count in by_side.items():
        label = f"{side} " if len(by_side) > 1 else ""
        match count:
            case RepCount():
                parts.append(f"{label}{count.count} of {wanted}")
            case RoundCount():
                parts.append(f"{label}{count.whole} of {wanted} cycles")
            case DirectionCount():
                parts.append(f"{label}forward {count.forward} of {wanted}")
                parts.append(f"{label}backward {count.backward} of {wanted}")
    return ", ".join(parts)


def _outside(result: ClipResult, exercise: Exercise) -> list[tuple[Importance, list[Finding]]]:
    """Importance and findings of each check found outside, the most frequent first."""
    importance = {(part, check.id): check.importance for part, check in exercise.all_checks}
    found: dict[tuple[str, Importance], list[Finding]] = {}
    for judged in result.reps:
        if judged.rep.partial:
            continue
        for finding in judged.findings:
            if finding.verdict == Verdict.OUTSIDE:
                own = importance.get((judged.rep.part, finding.id))
                weight = own or importance.get((None, finding.id), Importance.POSITION)
                found.setdefault((finding.id, weight), []).append(finding)
    ranked = sorted(found.items(), key=lambda entry: -len(entry[1]))
    return [(weight, findings) for (_, weight), findings in ranked]


def _sentence(findings: list[Finding], whole: int) -> str:
    """How often a check was outside, and its worst with its uncertainty beside the limits."""
    words = words_for("en")
    worst = min(findings, key=lambda finding: finding.margin or 0.0)
    return words(
        "triage.outside",
        label=check_label(worst.measure, worst.statistic, worst.phase, words),
        count=len(findings),
        whole=whole,
        value=words.measured(worst.value, worst.uncertainty, worst.unit),
        limits=words.limits(worst.low, worst.high, worst.unit),
    )
