"""What the coach reads first: limits of safety, another exercise, and what the camera is not sure of."""

from formcheck.checks.result import ClipResult, Finding, LimitReport
from formcheck.sheets.pages.client import operators_notice
from formcheck.words.labels import check_title
from formcheck.words.limits import (
    limit_heading,
    limit_line,
    limits_of,
    past_but_fine,
    value_text,
)
from formcheck.words.words import Words

_Rows = tuple[tuple[str, str], ...]


def look_first(result: ClipResult, words: Words) -> _Rows:
    """Rows of name and text, the gravest first."""
    notice = operators_notice(result, words)
    return (
        *((limit_heading(one, words), _limit_text(one, words)) for one in result.limits),
        *(((words("coach.first"), notice),) if notice else ()),
        *_essentials(result, words),
        *_probably_fine(result, words),
    )


def _limit_text(limit: LimitReport, words: Words) -> str:
    own = f" {words.tell(limit.cue)}" if limit.state.alarming else ""
    return limit_line(limit, words) + own


def _essentials(result: ClipResult, words: Words) -> _Rows:
    """Where to look because what makes the exercise was not seen for sure."""
    whole = result.whole_reps
    found: dict[str, list[Finding]] = {}
    for judged in whole:
        for finding in judged.unsure_essentials:
            found.setdefault(finding.id, []).append(finding)
    lines = [
        words(
            "coach.essential",
            name=check_title(some[0], words),
            count=len(some),
            total=len(whole),
        )
        for some in found.values()
    ]
    return ((words("coach.first"), " ".join(lines)),) if lines else ()


def _probably_fine(result: ClipResult, words: Words) -> _Rows:
    """What is unsure without a sign of a fault: of each check the least sure."""
    worst: dict[str, Finding] = {}
    for judged in result.reps:
        for one in judged.findings:
            told_elsewhere = one.essential or one.safety_limit or judged.rep.partial
            if one.probably_fine and not told_elsewhere:
                worst[one.id] = max(worst.get(one.id, one), one, key=_doubt)
    lines = [
        line
        for one in sorted(worst.values(), key=_doubt, reverse=True)
        for line in (_read(one, words), past_but_fine(one, words))
        if line
    ]
    return ((words("coach.unsure"), " ".join(lines)),) if lines else ()


def _read(finding: Finding, words: Words) -> str:
    return words(
        "coach.probably_fine",
        name=check_title(finding, words),
        value=value_text(finding, words),
        limits=limits_of(finding, words),
    )


def _doubt(finding: Finding) -> float:
    return finding.probability_outside or 0.0
