"""What a client is told of targets that a programme changed, where it gives no words of its own.

The library's cues and praise are written for the library's targets: "up to shoulder height" is wrong
for who agreed on less. What was agreed stands on the sheet with its numbers; the words send there.
"""

from collections.abc import Collection, Sequence

from formcheck.exercises.schema import Check, Exercise

_OF_TIME = {
    "hold": "Hold it for as long as was agreed with you.",
    "duration": "Take as long for it as was agreed with you.",
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
    name = now.id.replace("-", " ").capitalize()
    words: dict[str, str | None] = {}
    if now.cue == was.cue:
        told = _OF_TIME.get(now.measure, f"{name}: keep to what was agreed with you.")
        words["cue"] = told
        for key in ("cue_above", "cue_below"):
            if getattr(now, key) == getattr(was, key):
                words[key] = None
    if now.praise == was.praise:
        words["praise"] = f"{name}: as was agreed with you, every time."
    return now.model_copy(update=words)
