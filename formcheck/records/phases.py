"""Which phase of the programme a client is in: moved by the coach's signature and by nothing else."""

from dataclasses import dataclass
from datetime import date

from formcheck.catalogue.red_flags import MOST_PAIN
from formcheck.exercises.programme import Programme
from formcheck.records.clients import client_id
from formcheck.records.programmes import programmes_of
from formcheck.records.store import Store


@dataclass(frozen=True, slots=True)
class PhaseEntry:
    """The client entered that phase on that day; ``by`` and ``note`` are the coach's.

    They are empty for the first phase, which begins with the programme. ``although`` names the rules
    (``readiness.RuleName``) that were not met when it was signed.
    """

    phase: str
    from_day: date
    by: str = ""
    note: str = ""
    although: tuple[str, ...] = ()


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


def signatures_of(store: Store, alias: str) -> list[tuple[int, PhaseEntry]]:
    """The signatures that hold, with their numbers in the record, in the order in which they were given."""
    rows = store.rows(
        "SELECT id, phase, from_day, by, note, although FROM phase_entry "
        "WHERE client_id = ? AND taken_back_at IS NULL ORDER BY id",
        client_id(store, alias),
    )
    return [
        (
            row["id"],
            PhaseEntry(
                row["phase"],
                date.fromisoformat(row["from_day"]),
                row["by"],
                row["note"],
                tuple(row["although"].split()),
            ),
        )
        for row in rows
    ]


def stretches(store: Store, alias: str) -> list[Stretch]:
    """What was prescribed when, in which phase, the earliest first.

    A new version of a programme stays in the phase that the client is in, if it has one of that name,
    and begins with its first phase otherwise.
    """
    entries = [entry for _, entry in signatures_of(store, alias)]
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
