"""What a client is told of targets that a variant or a programme changed without words of its own.

Cues and praise are written for the targets they stand beside: "up to shoulder height" is wrong for
who agreed on less. Of a time the new number is said; of all else the sheet says what was agreed, and
the words send there.
"""

from collections.abc import Collection, Sequence

from formcheck.exercises.schema import Check, Exercise

_CUE_OF_TIME = {
    "hold": "Hold each one for the full {seconds:g} seconds. Count slowly to the end.",
    "duration": "Slow down: take about {seconds:g} seconds for each one.",
}
_PRAISE_OF_TIME = {
    "hold": "You held every one long enough.",
    "duration": "You took long enough for every one.",
}


def words_of_time(measure: str, seconds: float) -> dict[str, str | None]:
    """Cue and praise of a check that asks for at least so many seconds."""
    return {
        "cue": _CUE_OF_TIME[measure].format(seconds=seconds),
        "cue_above": None,
        "cue_below": None,
        "praise": _PRAISE_OF_TIME[measure],
    }


def with_agreed_words(library: Exercise, own: Exercise, limited: Collection[str]) -> Exercise:
    """``own`` with words that fit the targets that differ from those of ``library``, or whose measure
    is one of ``limited``, which the library's words may lead past a limit of.
    """
    before = {part.name: part.checks for part in library.parts}
    parts = tuple(
        part.model_copy(update={"checks": _all(before.get(part.name, ()), part.checks, limited)})
        for part in own.parts
    )
    checks = _all(library.checks, own.checks, limited)
    return own.model_copy(update={"checks": checks, "parts": parts})


def _all(
    before: Sequence[Check], now: Sequence[Check], limited: Collection[str]
) -> tuple[Check, ...]:
    known = {check.id: check for check in before}
    return tuple(
        _agreed(known[check.id], check, limited) if check.id in known else check for check in now
    )


def _agreed(was: Check, now: Check, limited: Collection[str]) -> Check:
    same = (was.low, was.high, was.measure) == (now.low, now.high, now.measure)
    if same and (now.relative or now.measure not in limited):
        return now
    words = _fitting(now)
    # Words for one end of a target belong to the cue they stand beside.
    tied = ("cue_above", "cue_below") if now.cue != was.cue else ()
    kept = {key for key in words if key in tied or getattr(now, key) != getattr(was, key)}
    return now.model_copy(update={key: words[key] for key in words.keys() - kept})


def _fitting(check: Check) -> dict[str, str | None]:
    if check.measure in _CUE_OF_TIME and check.low is not None and check.high is None:
        return words_of_time(check.measure, check.low)
    name = check.title or check.id.replace("-", " ").capitalize()
    return {
        "cue": f"{name}: keep to what was agreed with you.",
        "cue_above": None,
        "cue_below": None,
        "praise": f"{name}: as was agreed with you, every time.",
    }
