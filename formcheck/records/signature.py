"""The coach's signature, which alone moves a client to a phase, and which may be taken back.

It is refused while an answer waits to be looked into. Where rules of the phase are not met, it asks to be
given in spite of them, and the record keeps which they were.
"""

from datetime import date

from formcheck.errors import RecordsError
from formcheck.records.answers import open_answers
from formcheck.records.clients import client_id
from formcheck.records.days import refuse_future
from formcheck.records.phases import PhaseEntry, Stretch, most_pain_of, signatures_of, stretches
from formcheck.records.readiness import Rule, RuleName, State, readiness_of
from formcheck.records.store import Store, now


def sign_phase(
    store: Store,
    alias: str,
    phase: str,
    *,
    from_day: date,
    by: str,
    note: str,
    although_not_met: bool = False,
) -> PhaseEntry:
    """Move a client to a phase of the programme in force, with the coach's name and a note.

    ``although_not_met`` signs in spite of rules that are not met, as ``unmet_rules`` has them.

    Raises
    ------
    RecordsError
        No name or note was given, no programme is in force on that day, the client moved later, a
        warning is open, or rules are not met and it was not said to sign in spite of them.
    ExerciseError
        The programme has no such phase.
    """
    if not by.strip() or not note.strip():
        raise RecordsError("a signature needs who gives it and a note")
    refuse_future(from_day, "signature")
    owner = client_id(store, alias)
    with store.transaction():
        known = stretches(store, alias)
        name = _here(known, alias, from_day).programme.in_phase(phase).phase
        if known[-1].first_day > from_day:
            raise RecordsError(f"{alias} moved on {known[-1].first_day}, which is later")
        unmet = unmet_rules(store, alias, name, from_day)
        _refuse(unmet, alias, name, although_not_met=although_not_met)
        although = tuple(str(rule.name) for rule in unmet)
        store.write(
            "INSERT INTO phase_entry (client_id, phase, from_day, by, note, although, recorded_at) "
            "VALUES (?, ?, ?, ?, ?, ?, ?)",
            *(
                owner,
                name,
                from_day.isoformat(),
                by.strip(),
                note.strip(),
                " ".join(although),
                now(),
            ),
        )
    return PhaseEntry(name, from_day, by.strip(), note.strip(), although)


def unmet_rules(store: Store, alias: str, phase: str, day: date) -> tuple[Rule, ...]:
    """The rules that speak against moving a client to that phase on that day.

    Those before the next phase stand for one further on as well. Nothing speaks against going back.

    Raises RecordsError if no programme is in force then, or ExerciseError if it has no such phase.
    """
    here = _here(stretches(store, alias), alias, day).programme
    names = [one.name for one in here.phases]
    ready = readiness_of(store, alias, day)
    forward = names.index(here.in_phase(phase).phase) > names.index(here.phase)
    if not forward or ready is None or ready.gate is None:
        return ()
    rules = [rule for rule in ready.gate.rules if rule.name is not RuleName.NOTHING_OPEN]
    waiting = open_answers(store, alias, most_pain=most_pain_of(store, alias, day))
    if waiting:  # what was told after that day blocks it as well
        days = tuple(one.day for one in waiting)
        rules.append(Rule(RuleName.NOTHING_OPEN, State.NOT_MET, days=days))
    return tuple(rule for rule in rules if rule.state is not State.MET)


def taken_back(store: Store, alias: str) -> list[tuple[PhaseEntry, str, str]]:
    """The signatures that were taken back, in the order in which they were given, by whom and why."""
    rows = store.rows(
        "SELECT phase, from_day, by, note, taken_back_by, taken_back_note FROM phase_entry "
        "WHERE client_id = ? AND taken_back_at IS NOT NULL ORDER BY id",
        client_id(store, alias),
    )
    return [
        (PhaseEntry(row[0], date.fromisoformat(row[1]), row[2], row[3]), row[4], row[5])
        for row in rows
    ]


def _here(known: list[Stretch], alias: str, day: date) -> Stretch:
    here = next((one for one in known if one.covers(day)), None)
    if here is None:
        raise RecordsError(f"{alias} has no programme on {day}; record one first")
    return here


def _refuse(unmet: tuple[Rule, ...], alias: str, phase: str, *, although_not_met: bool) -> None:
    """Raise RecordsError for what no signature passes over, and for what it was not told to."""
    if any(rule.name is RuleName.NOTHING_OPEN for rule in unmet):
        raise RecordsError(
            f"{alias} told of pain or a warning sign that nobody has looked into yet; look into it "
            f'first, with `formcheck client clear`. Nothing was signed for "{phase}".'
        )
    if unmet and not although_not_met:
        names = ", ".join(rule.name for rule in unmet)
        raise RecordsError(
            f'not met or not known before phase "{phase}": {names}. Nothing was signed; to sign in '
            "spite of it, add --although-not-met."
        )


def take_back(store: Store, alias: str, *, by: str, note: str) -> PhaseEntry:
    """Take the latest signature back, as if it had not been given; it stays in the record with who and why.

    Raises RecordsError without a name or a note, or if there is no signature.
    """
    if not by.strip() or not note.strip():
        raise RecordsError("taking a signature back needs who does so and a note")
    with store.transaction():
        given = signatures_of(store, alias)
        if not given:
            raise RecordsError(f"{alias} has no signature that could be taken back")
        number, entry = given[-1]
        store.write(
            "UPDATE phase_entry SET taken_back_by = ?, taken_back_note = ?, taken_back_at = ? "
            "WHERE id = ?",
            *(by.strip(), note.strip(), now(), number),
        )
    return entry
