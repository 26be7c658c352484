"""What the coach wrote down over the weeks: notes, clearances, signatures, and verdicts overruled."""

from collections.abc import Sequence
from datetime import date

from formcheck.records.answers import clearances_of
from formcheck.records.baseline import baselines_of
from formcheck.records.notes import notes_of, overrules_of
from formcheck.records.phases import signatures_of
from formcheck.records.sets import RecordedSet
from formcheck.records.store import Store
from formcheck.sheets.pages.exercise_names import exercise_title
from formcheck.words.words import UNKNOWN, Words


def decisions(
    store: Store, alias: str, until: date, sets: Sequence[RecordedSet], words: Words
) -> tuple[str, ...]:
    """Notes, clearances and signatures by day; ``sets`` are those up to ``until``."""
    known = {one.id: one for one in sets}
    found: list[tuple[date, str]] = []
    for note in notes_of(store, alias):
        of_set = known.get(note.set_id or 0)
        what = set_title(of_set, words) if of_set else ""
        key = "weeks.note_of_set" if what else "weeks.note"
        day = words.date(note.day)
        found.append((note.day, words(key, what=what, day=day, by=note.by, words=note.words)))
    for clearance in clearances_of(store, alias):
        day = words.date(clearance.through_day)
        told = words("weeks.cleared", day=day, by=clearance.by, words=clearance.note)
        found.append((clearance.through_day, told))
    for _, entry in signatures_of(store, alias):
        although = ", ".join(entry.although).replace("-", " ")
        told = words(
            "weeks.signed_although" if although else "weeks.signed_phase",
            day=words.date(entry.from_day),
            by=entry.by,
            phase=entry.phase,
            words=entry.note,
            although=although,
        )
        found.append((entry.from_day, told))
    for one in baselines_of(store, alias):
        if signed := known.get(one.set_id):
            key = "weeks.signed_set_why" if one.note else "weeks.signed_set"
            what, day = set_title(signed, words), words.date(signed.day)
            found.append((signed.day, words(key, what=what, day=day, by=one.by, words=one.note)))
    return tuple(text for day, text in sorted(found, key=lambda one: one[0]) if day <= until)


def overruled_lines(
    store: Store, alias: str, sets: Sequence[RecordedSet], words: Words
) -> tuple[str, ...]:
    """Each overrule with its set, day and repetition, the measured verdict and the coach's."""
    known = {one.id: one for one in sets}
    return tuple(
        words(
            "weeks.overruled",
            what=set_title(known[one.set_id], words),
            day=words.date(known[one.set_id].day),
            rep=UNKNOWN if one.rep is None else one.rep,
            check=_check(one.check_id, one.side, words),
            measured=one.measured or UNKNOWN,
            by=one.by,
            verdict=one.verdict,
            words=one.words,
        )
        for one in overrules_of(store, alias)
        if one.set_id in known
    )


def set_title(one: RecordedSet, words: Words) -> str:
    """``Elbow curl, right side (set 7)``."""
    side = words(f"side.{one.side}")
    exercise = exercise_title(one.exercise, words)
    return words("weeks.of_set", exercise=exercise, side=side, number=one.id)


def _check(check_id: str, side: str, words: Words) -> str:
    name = check_id.replace("-", " ")
    return f"{name} ({words(f'side.{side}')})" if side else name
