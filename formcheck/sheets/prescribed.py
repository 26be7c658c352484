"""What a programme prescribes for this client, in words for the sheets."""

import re

from formcheck.checks.result import ClipResult
from formcheck.exercises.programme import Prescription
from formcheck.exercises.schema import Check, Exercise
from formcheck.exercises.vocabulary import MEASURES
from formcheck.sheets.lines import check_label
from formcheck.sheets.words import Words

_ENDS = (".low", ".high")
_CHECK = re.compile(r'checks "([^"]+)"')
_ARROW = "\N{RIGHTWARDS ARROW}"


def prescribed_for_client(result: ClipResult, exercise: Exercise, words: Words) -> str:
    """One or two sentences for the client: the limits of their own and the coach's word."""
    prescription = result.prescription
    if prescription is None:
        return ""
    own = [_limit_line(check, words) for check in _joined(_own_checks(prescription, exercise))]
    lines = [words("prescribed.client", limits="; ".join(own))] if own else []
    return " ".join([*lines, *([prescription.note] if prescription.note else [])])


def prescribed_for_coach(
    result: ClipResult, exercise: Exercise, words: Words
) -> tuple[tuple[str, str], ...]:
    """Rows of name and text: the phase, every change against the library, when to leave it out."""
    prescription = result.prescription
    if prescription is None:
        return ()
    own = _own_checks(prescription, exercise)
    new = [check for check in own if _is_new(check, prescription)]
    changes = [
        f"{change.key}: {change.before or words('prescribed.nothing')} {_ARROW} "
        f"{change.after or words('prescribed.nothing')}"
        for change in prescription.changes
        if not any(f'"{check.id}"' in change.key for check in new)
        and not (change.key.endswith(_ENDS) and _CHECK.search(change.key))
    ]
    changes += [
        _limit_line(check, words)
        if check in new
        else f"{_limit_line(check, words)} ({_usual(check, prescription, words)})"
        for check in own
    ]
    rows = [
        (words("prescribed.phase"), prescription.phase),
        (words("prescribed.changes"), "; ".join(changes) or words("prescribed.as_usual")),
        (words("prescribed.leave_out"), "; ".join(prescription.leave_out_if)),
        (words("prescribed.note"), prescription.note or ""),
    ]
    return tuple((name, text) for name, text in rows if text)


def _own_checks(prescription: Prescription, exercise: Exercise) -> list[Check]:
    """The checks whose limits differ for this client."""
    named = {
        found.group(1)
        for change in prescription.changes
        if (found := _CHECK.search(change.key)) and change.key.endswith(_ENDS)
    }
    checks = (*exercise.checks, *(check for part in exercise.parts for check in part.checks))
    return [check for check in checks if check.id in named]


def _joined(checks: list[Check]) -> list[Check]:
    """Checks of one measure at one moment as one, with the narrower of either end."""
    joined: dict[tuple[str, ...], Check] = {}
    for check in checks:
        key = (check.measure, check.statistic, check.phase, str(check.relative))
        other = joined.get(key, check)
        ends = (
            [x for x in (check.low, other.low) if x is not None],
            [x for x in (check.high, other.high) if x is not None],
        )
        low, high = max(ends[0], default=None), min(ends[1], default=None)
        joined[key] = check.model_copy(update={"low": low, "high": high})
    return list(joined.values())


def _is_new(check: Check, prescription: Prescription) -> bool:
    return any(
        change.before is None and change.key.endswith(f'"{check.id}".id')
        for change in prescription.changes
    )


def _usual(check: Check, prescription: Prescription, words: Words) -> str:
    """``usually at least 90°``: the ends before the programme changed them."""
    ends = {"low": check.low, "high": check.high}
    for change in prescription.changes:
        end = change.key.rpartition(".")[2]
        if f'checks "{check.id}".' in change.key and end in ends:
            ends[end] = None if change.before is None else float(change.before)
    limits = words.limits(ends["low"], ends["high"], MEASURES[check.measure].unit)
    return words("prescribed.usually", limits=limits)


def _limit_line(check: Check, words: Words) -> str:
    label = check_label(check.measure, check.statistic, check.phase, words)
    return f"{label}: {words.limits(check.low, check.high, MEASURES[check.measure].unit)}"
