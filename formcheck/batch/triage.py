"""Who needs a look first, and why: one level and one sentence for each clip."""

from collections.abc import Callable, Sequence

from formcheck.batch.job import Job
from formcheck.catalogue.codes import Importance, LimitState, Verdict
from formcheck.checks.result import ClipResult, DoseCount, Finding
from formcheck.exercises.schema import Exercise
from formcheck.sheets.pages.dose import counted_line, held_line, over_line
from formcheck.words.labels import check_title
from formcheck.words.limits import limit_line, limits_of, past_but_fine, value_text
from formcheck.words.stop import stop_lines
from formcheck.words.words import Words, words_for

LEVELS = (
    "stop",
    "limit-passed",
    "limit-perhaps",
    "safety",
    "unseen",
    "unrecognised",
    "unusable",
    "work-on",
    "limit-unchecked",
    "perhaps",
    "dose",
    "over",
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
    if result.alarms:
        passed = result.alarms[0].state is LimitState.PASSED
        return "limit-passed" if passed else "limit-perhaps", limit_line(result.alarms[0], words)
    if not result.usable or exercise is None:
        fatal = result.fatal_problems
        why = words.tell(fatal[0].message) if fatal else words("triage.cannot_be_judged")
        return "unusable", why
    if result.another_exercise:
        return "unrecognised", words.tell(result.another_exercise.message)
    whole = result.whole_reps
    outside = _found(result, exercise, lambda finding: finding.verdict == Verdict.OUTSIDE)
    for weight, findings in outside:
        if weight == Importance.SAFETY:
            return "safety", _sentence("outside", findings, len(whole))
    level, why = _without_safety(result, exercise, outside)
    lines = {"dose": held_line(result.dose, words), "over": over_line(result.dose, words)}
    more = (line for own, line in lines.items() if own != level)
    return level, _together(why, *more)


def triage_answer(job: Job) -> tuple[str, str] | None:
    """Level and reason where the client's own answers say to stop; None where they do not."""
    lines = stop_lines(job.answer, words_for("en"), job.most_pain)
    return ("stop", " ".join(lines)) if lines else None


def _without_safety(
    result: ClipResult, exercise: Exercise, outside: Sequence[tuple[Importance, list[Finding]]]
) -> tuple[str, str]:
    """Level and reason of a usable clip in which nothing of safety was outside."""
    words = words_for("en")
    whole = result.whole_reps
    unchecked = [one for one in result.limits if one.state is LimitState.UNCHECKED]
    perhaps = _found(result, exercise, lambda finding: finding.perhaps_not)
    unsure = _unsure_essentials(result)
    essential = _found(result, exercise, lambda finding: finding in unsure)
    if outside:
        return "work-on", _sentence("outside", outside[0][1], len(whole))
    if unchecked:
        return "limit-unchecked", limit_line(unchecked[0], words)
    if not whole:
        return "dose", words("triage.no_repetition")
    for key, found in (("perhaps", perhaps), ("essential", essential)):
        if found:
            return "perhaps", _sentence(key, found[0][1], len(whole))
    look = _look(result, exercise)
    if result.dose.met is False:
        return "dose", _together(_dose(result.dose, words), look)
    if over := over_line(result.dose, words):
        return "over", _together(over, look)
    coverage = sum(judged.coverage for judged in whole) / len(whole)
    if coverage < _ENOUGH_COVERAGE:
        return "doubtful", _together(words("triage.doubtful", share=coverage), look)
    return "well", look or words("triage.well")


def _look(result: ClipResult, exercise: Exercise) -> str:
    """What is probably fine but not sure, so that somebody looks; empty if there is none."""
    fine = _found(result, exercise, lambda finding: finding.probably_fine)
    return _sentence("probably_fine", fine[0][1], len(result.whole_reps)) if fine else ""


def _together(*sentences: str) -> str:
    return " ".join(filter(None, sentences))


def _unsure_essentials(result: ClipResult) -> list[Finding]:
    return [finding for judged in result.reps for finding in judged.unsure_essentials]


def _dose(dose: DoseCount, words: Words) -> str:
    return _together(
        words("triage.counted", counted=counted_line(dose, words)), held_line(dose, words)
    )


def _found(
    result: ClipResult, exercise: Exercise, wanted: Callable[[Finding], bool]
) -> list[tuple[Importance, list[Finding]]]:
    """Importance and findings of each check that has any such, the most frequent first."""
    importance = {(part, check.id): check.importance for part, check in exercise.all_checks}
    found: dict[tuple[str, Importance], list[Finding]] = {}
    for judged in result.reps:
        if judged.rep.partial:
            continue
        for finding in judged.findings:
            if wanted(finding):
                own = importance.get((judged.rep.part, finding.id))
                weight = own or importance.get((None, finding.id), Importance.POSITION)
                found.setdefault((finding.id, weight), []).append(finding)
    ranked = sorted(found.items(), key=lambda entry: -len(entry[1]))
    return [(weight, findings) for (_, weight), findings in ranked]


def _sentence(key: str, findings: list[Finding], whole: int) -> str:
    """How often a check was so, and its worst with its uncertainty beside the limits."""
    words = words_for("en")
    worst = max(findings, key=lambda finding: finding.probability_outside or 0.0)
    if key == "outside":
        worst = min(findings, key=lambda finding: finding.margin or 0.0)
    told = words(
        f"triage.{key}",
        label=check_title(worst, words),
        count=len(findings),
        whole=whole,
        value=value_text(worst, words),
        limits=limits_of(worst, words),
    )
    return _together(told, past_but_fine(worst, words))
