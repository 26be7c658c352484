"""Which phase of the programme a client is in: moved by the coach's signature and by nothing else."""

from dataclasses import dataclass
from datetime import date

from formcheck.catalogue.red_flags import MOST_PAIN
from formcheck.errors import RecordsError
from formcheck.exercises.programme import Programme
from formcheck.records.clients import client_id
from formcheck.records.programmes import programmes_of
from formcheck.records.store import Store, now


@dataclass(frozen=True, slots=True)
class PhaseEntry:
    """The client entered that phase on that day; ``by`` and ``note`` are the coach's.

    They are empty for the first phase, which begins with the programme.
    """

    phase: str
    from_day: date
    by: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Days through which a programme held in one phase; ``last_day`` None while it does."""

    programme: Programme
    version: int
    entry: PhaseEntry
    first_day: date
    last_day: date | None

    def covers(self, day: date) -> bool:
        """Whether it held on that day."""
        return self.first_day <= day and (self.last_day is None or day <= self.last_day)


def most_pain_of(store: Store, alias: str, day: date) -> int:
    """The most pain (0-10) with which a client goes on: by the programme in force, or the usual."""
    here = in_force(store, alias, day)
    own = here.programme.pain_at_most if here else None
    return MOST_PAIN if own is None else own


def sign_phase(
    store: Store, alias: str, phase: str, *, from_day: date, by: str, note: str
) -> PhaseEntry:
    """Move a client to a phase of the programme in force, with the coach's name and a note.

    Raises
    ------
    RecordsError
        No name or note was given, no programme is in force on that day, or the client moved later.
    ExerciseError
        The programme has no such phase.
    """
    if not by.strip() or not note.strip():
        raise RecordsError("a signature needs who gives it and a note")
    owner = client_id(store, alias)
    with store.transaction():
        known = stretches(store, alias)
        here = next((one for one in known if one.covers(from_day)), None)
        if here is None:
            raise RecordsError(f"{alias} has no programme on {from_day}; record one first")
        if known[-1].first_day > from_day:
            raise RecordsError(f"{alias} moved on {known[-1].first_day}, which is later")
        name = here.programme.in_phase(phase).phase
        store.write(
            "INSERT INTO phase_entry (client_id, phase, from_day, by, note, recorded_at) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            *(owner, name, from_day.isoformat(), by.strip(), note.strip(), now()),
        )
    return PhaseEntry(name, from_day, by.strip(), note.strip())


def stretches(store: Store, alias: str) -> list[Stretch]:
    """What was prescribed when, in which phase, the earliest first.

    A new version of a programme stays in the phase that the client is in, if it has one of that name,
    and begins with its first phase otherwise.
    """
    rows = store.rows(
        "SELECT phase, from_day, by, note FROM phase_entry WHERE client_id = ? ORDER BY id",
        client_id(store, alias),
    )
    entries = [PhaseEntry(row[0], date.fromisoformat(row[1]), row[2], row[3]) for row in rows]
    versions = programmes_of(store, alias)
    starts = sorted({one.from_day for one in entries} | {one.from_day for one in versions})
    found: list[Stretch] = []
    for k, day in enumerate(starts):
        version = next((one for one in reversed(versions) if one.from_day <= day), None)
        if version is None:
            continue
        entry = next((one for one in reversed(entries) if one.from_day <= day), None)
        names = [phase.name for phase in version.programme.phases]
        if entry is None or entry.phase not in names:
            entry = PhaseEntry(names[0], version.from_day)
        last = starts[k + 1].fromordinal(starts[k + 1].toordinal() - 1) if starts[k + 1 :] else None
        programme = version.programme.in_phase(entry.phase)
        found.append(Stretch(programme, version.version, entry, day, last))
    return found


def in_force(store: Store, alias: str, day: date) -> Stretch | None:
    """What was prescribed on that day; None before the first programme."""
    return next((one for one in stretches(store, alias) if one.covers(day)), None)
