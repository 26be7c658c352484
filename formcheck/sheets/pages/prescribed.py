"""What a programme prescribes for this client, in words for the sheets."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from formcheck.catalogue.measures import MEASURES
from formcheck.checks.result import ClipResult
from formcheck.exercises.programme import Prescription
from formcheck.exercises.schema import Check, Exercise, Primary
from formcheck.text import lower_first
from formcheck.words.labels import check_title
from formcheck.words.limits import limits_text
from formcheck.words.words import Words

_ENDS = (".low", ".high")


@dataclass(frozen=True, slots=True)
class _KeyedCheck:
    """A check whose target a programme may change.

    ``key`` is its key among the changes, ``part`` the title of its part (empty if it is of the
    whole exercise), ``unit`` that of its limits.
    """

    key: str
    part: str
    check: Check
    unit: str


def prescribed_for_client(result: ClipResult, exercise: Exercise, words: Words) -> str:
    """One or two sentences for the client: their own limits, and the note of the prescription."""
    prescription = result.prescription
    if prescription is None:
        return ""
    own = [_limit_line(one, words) for one in _merged(_changed_checks(prescription, exercise))]
    lines = [words("prescribed.client", limits=lower_first("; ".join(own)))] if own else []
    return " ".join([*lines, *([prescription.note] if prescription.note else [])])


def prescribed_for_coach(
    result: ClipResult, exercise: Exercise, words: Words, alias: str = ""
) -> tuple[tuple[str, str], ...]:
    """Rows of name and text: by which programme, all changes against the library, when to leave it
    out. Of a client, whose ``alias`` is known, also that there was no programme.
    """
    prescription = result.prescription
    if prescription is None:
        return ((words("prescribed.programme"), words("prescribed.none")),) if alias else ()
    own = _changed_checks(prescription, exercise)
    new = {one.key for one in own if _is_new(one, prescription)}
    gone = {
        change.key.removesuffix(".id"): (change.before or "").strip('"')
        for change in prescription.changes
        if change.after is None and change.key.endswith(".id")
    }
    ends = {one.key + end for one in own for end in _ENDS}
    changes = [
        f"{_key_name(change.key, words)} {_value(change.after, words)} "
        f"({words('prescribed.usually', limits=_value(change.before, words))})"
        for change in prescription.changes
        if change.key not in ends
        and not change.key.startswith(tuple(f"{key}." for key in (*new, *gone)))
    ]
    changes += [words("prescribed.left_out", check=check) for check in gone.values()]
    changes += [
        _limit_line(one, words)
        if one.key in new
        else f"{_limit_line(one, words)} ({_usual(one, prescription, words)})"
        for one in own
    ]
    rows = [
        (words("prescribed.programme"), programme_line(prescription, words)),
        (words("prescribed.changes"), "; ".join(changes) or words("prescribed.as_usual")),
        (words("prescribed.leave_out"), "; ".join(prescription.leave_out_if)),
        (words("prescribed.note"), prescription.note or ""),
    ]
    return tuple((name, text) for name, text in rows if text)


def programme_line(prescription: Prescription, words: Words) -> str:
    """Which programme and phase a clip was judged by, and whether that has the exercise."""
    line = words(
        "prescribed.file" if prescription.version is None else "prescribed.recorded",
        client=prescription.client,
        phase=prescription.phase,
        version=prescription.version,
    )
    if prescription.listed:
        return line
    own = "_own" if _has_own_targets(prescription) else ""
    return words(f"prescribed.unlisted{own}", programme=line)


def _has_own_targets(prescription: Prescription) -> bool:
    """Whether more than limits differs from the library: another phase has the exercise."""
    changed = _changed_checks(prescription, prescription.exercise)
    own_dose = any(change.key.startswith("dose.") for change in prescription.changes)
    return own_dose or any(not one.check.safety_limit for one in changed)


def _key_name(key: str, words: Words) -> str:
    """What a key of the dose is called; any other by itself."""
    names = words.catalogue["prescribed"]["key"]
    return str(names[key]) if key in names else f"{key}:"


def _value(written: str | None, words: Words) -> str:
    """What a programme sets as pages write it, numbers like all others."""
    if written is None:
        return words("prescribed.nothing")
    try:
        return words.exact(float(written), "")
    except ValueError:
        return written


def _changed_checks(prescription: Prescription, exercise: Exercise) -> list[_KeyedCheck]:
    changed = {
        change.key.rpartition(".")[0]
        for change in prescription.changes
        if change.key.endswith(_ENDS)
    }
    return [one for one in _every_check(exercise) if one.key in changed]


def _every_check(exercise: Exercise) -> Iterator[_KeyedCheck]:
    for check in exercise.checks:
        yield _KeyedCheck(f'checks "{check.id}"', "", check, _unit(check, exercise.primary))
    for part in exercise.parts:
        for check in part.checks:
            key = f'parts "{part.name}".checks "{check.id}"'
            yield _KeyedCheck(key, part.title, check, _unit(check, part.primary))


def _unit(check: Check, primary: Primary) -> str:
    return MEASURES[check.measure].unit_beside(MEASURES[primary.measure])


def _merged(own: list[_KeyedCheck]) -> list[_KeyedCheck]:
    """Checks of the same measure, moment and part as one check with the narrower limits; a target and a
    limit of safety stay two.
    """
    joined: dict[tuple[object, ...], _KeyedCheck] = {}
    for one in own:
        check = one.check
        key = (
            one.part,
            check.measure,
            check.statistic,
            check.phase,
            check.relative,
            check.safety_limit,
        )
        other = joined.get(key, one).check
        ends = (
            [x for x in (check.low, other.low) if x is not None],
            [x for x in (check.high, other.high) if x is not None],
        )
        low, high = max(ends[0], default=None), min(ends[1], default=None)
        joined[key] = replace(one, check=check.model_copy(update={"low": low, "high": high}))
    return list(joined.values())


def _is_new(one: _KeyedCheck, prescription: Prescription) -> bool:
    return any(
        change.before is None and change.key == f"{one.key}.id" for change in prescription.changes
    )


def _usual(one: _KeyedCheck, prescription: Prescription, words: Words) -> str:
    """``usually at least 90°``: the ends before the programme changed them."""
    before = {change.key: change.before for change in prescription.changes}

    def usual(end: str, now: float | None) -> float | None:
        was = before.get(one.key + end, now)
        return None if was is None else float(was)

    low, high = usual(".low", one.check.low), usual(".high", one.check.high)
    return words(
        "prescribed.usually", limits=limits_text(one.check.measure, low, high, one.unit, words)
    )


def _limit_line(one: _KeyedCheck, words: Words) -> str:
    check = one.check
    label = check_title(check, words)
    limits = limits_text(check.measure, check.low, check.high, one.unit, words)
    return f"{one.part}: {lower_first(label)} {limits}" if one.part else f"{label} {limits}"
