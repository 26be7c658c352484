"""Who needs a look first, and why: one level and one sentence for each clip."""

from formcheck.catalogue.codes import Importance, Verdict
from formcheck.checks.result import (
    ClipResult,
    DirectionCount,
    DoseCount,
    Finding,
    RepCount,
    RoundCount,
)
from formcheck.exercises.schema import Exercise
from formcheck.sheets.pages.dose import held_line
from formcheck.words.labels import check_label
from formcheck.words.words import words_for

LEVELS: dict[str, str] = {
    "safety": "look first",
    "unseen": "not checked",
    "unrecognised": "say which exercise",
    "unusable": "film again",
    "work-on": "to work on",
    "dose": "dose not met",
    "doubtful": "hardly measured",
    "well": "as prescribed",
}
"""Levels, most urgent first, and what they are called."""

_ENOUGH_COVERAGE = 0.5


def triage(result: ClipResult, exercise: Exercise | None) -> tuple[str, str]:
    """Level and reason of a clip that was read."""
    words = words_for("en")
    if not result.usable or exercise is None:
        fatal = [problem for problem in result.problems if problem.fatal]
        return "unusable", words.tell(
            fatal[0].message
        ) if fatal else "The recording cannot be judged."
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
        return "dose", "No complete repetition was found."
    if result.dose.met is False:
        held = held_line(result.dose, words)
        return "dose", f"Counted {counted(result.dose)}.{f' {held}' if held else ''}"
    coverage = sum(judged.coverage for judged in whole) / len(whole)
    if coverage < _ENOUGH_COVERAGE:
        return "doubtful", f"Only {coverage:.0%} of what should be judged could be measured."
    return "well", "Nothing outside, as far as it could be measured."


def counted(dose: DoseCount) -> str:
    """``8 of 10``; each side or direction by itself where there are several."""
    wanted = dose.prescribed.count if dose.prescribed else "?"
    parts = []
    for side, count in dose.counted.by_side.items():
        label = f"{side} " if len(dose.counted.by_side) > 1 else ""
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
    label = check_label(worst.measure, worst.statistic, worst.phase, words)
    value = words.measured(worst.value, worst.uncertainty, worst.unit)
    limits = words.limits(worst.low, worst.high, worst.unit)
    return (
        f"{label}: outside in {len(findings)} of {whole}, at worst {value} (asked for: {limits})."
    )
