"""What the client says: pain, effort, what stopped them, red flags, and what was done unfilmed.

Any red flag that was answered with yes, and pain above what the coach allows, stays open until the
coach clears it with a note.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import date

from formcheck.errors import RecordsError
from formcheck.records.clients import client_id
from formcheck.records.days import refuse_future
from formcheck.records.store import Store, now

SCALE = (0, 10)
"""Ends of the numeric rating scales of pain and effort. Mechanical."""
SCALES = ("pain_before", "pain_during", "pain_after", "pain_next_morning", "effort")
_NO_FLAGS: dict[str, bool] = {}


@dataclass(frozen=True, slots=True)
class Answer:
    """What a client says of a day, or of one ``exercise`` or clip of it, left empty otherwise.

    Pain and effort are whole numbers from 0 to 10, None where they were not asked or answered.
    ``red_flags`` has an answer for each question that was answered, by its code. ``source`` is where
    it came from, such as ``form``, ``manifest`` or ``command``.
    """

    day: date
    exercise: str = ""
    clip_sha256: str = ""
    pain_before: int | None = None
    pain_during: int | None = None
    pain_after: int | None = None
    pain_next_morning: int | None = None
    effort: int | None = None
    stopped_by: str = ""
    words: str = ""
    red_flags: Mapping[str, bool] = field(default_factory=lambda: _NO_FLAGS)
    source: str = ""

    @property
    def worst_pain(self) -> int | None:
        """The highest pain that was told; None if none was."""
        told = (self.pain_before, self.pain_during, self.pain_after, self.pain_next_morning)
        return max((pain for pain in told if pain is not None), default=None)

    @property
    def flags_raised(self) -> tuple[str, ...]:
        """The codes of the red-flag questions that were answered with yes."""
        return tuple(flag for flag, yes in self.red_flags.items() if yes)


@dataclass(frozen=True, slots=True)
class Clearance:
    """The coach has looked into everything that was said through that day."""

    through_day: date
    by: str
    note: str


@dataclass(frozen=True, slots=True)
class Ticked:
    """What a client says they did on a day without filming it; ``held_s`` in all sets together."""

    exercise: str
    side: str
    day: date
    sets: int
    count: int | None = None
    held_s: float | None = None


def add_answer(store: Store, alias: str, answer: Answer) -> bool:
    """Record an answer; False if the very same one is there already.

    Raises RecordsError for a number that is not on its scale, a day to come, or if there is no such client.
    """
    refuse_future(answer.day, "answer")
    for name in SCALES:
        value = getattr(answer, name)
        if value is not None and not SCALE[0] <= value <= SCALE[1]:
            raise RecordsError(f"{name.replace('_', ' ')}: {value} is not from 0 to 10")
    owner = client_id(store, alias)
    row = _row_of(answer)
    with store.transaction():
        known = "SELECT 1 FROM answer WHERE client_id = ? AND sha256 = ?"
        if store.row(known, owner, row["sha256"]):
            return False
        marks = ", ".join("?" * (len(row) + 1))
        added = store.write(
            f"INSERT INTO answer (client_id, {', '.join(row)}) VALUES ({marks})",  # noqa: S608
            owner,
            *row.values(),
        )
        store.write_many(
            "INSERT INTO red_flag (answer_id, flag, yes) VALUES (?, ?, ?)",
            [(added, flag, int(yes)) for flag, yes in answer.red_flags.items()],
        )
    return True


def answers_of(store: Store, alias: str) -> list[Answer]:
    """All answers of a client by day, those of one day in the order in which they came."""
    owner = client_id(store, alias)
    flags: dict[int, dict[str, bool]] = {}
    for row in store.rows(
        "SELECT f.* FROM red_flag f JOIN answer a ON a.id = f.answer_id WHERE a.client_id = ?",
        owner,
    ):
        flags.setdefault(row["answer_id"], {})[row["flag"]] = bool(row["yes"])
    rows = store.rows("SELECT * FROM answer WHERE client_id = ? ORDER BY day, id", owner)
    dropped = ("id", "client_id", "sha256", "recorded_at")
    return [
        Answer(
            **{key: value for key, value in dict(row).items() if key not in (*dropped, "day")},
            day=date.fromisoformat(row["day"]),
            red_flags=flags.get(row["id"], {}),
        )
        for row in rows
    ]


def clear(store: Store, alias: str, *, through_day: date, by: str, note: str) -> None:
    """Write down that the coach looked into what was said through that day, and what they found.

    Raises RecordsError without a name or a note, for a day to come, or if there is no such client.
    """
    if not by.strip() or not note.strip():
        raise RecordsError("a clearance needs who gives it and a note")
    refuse_future(through_day, "clearance")
    owner = client_id(store, alias)
    with store.transaction():
        store.write(
            "INSERT INTO clearance (client_id, through_day, by, note, recorded_at) "
            "VALUES (?, ?, ?, ?, ?)",
            *(owner, through_day.isoformat(), by.strip(), note.strip(), now()),
        )


def clearances_of(store: Store, alias: str) -> list[Clearance]:
    """All clearances of a client, in the order in which they were given."""
    rows = store.rows(
        "SELECT through_day, by, note FROM clearance WHERE client_id = ? ORDER BY id",
        client_id(store, alias),
    )
    return [Clearance(date.fromisoformat(row[0]), row[1], row[2]) for row in rows]


def open_answers(store: Store, alias: str, *, most_pain: int | None = None) -> list[Answer]:
    """The answers that the coach has still to look into, by day.

    They raise a red flag, or tell of more pain than ``most_pain`` (where that is given), and no
    clearance was given since: one covers the days through its own.
    """
    through = max((one.through_day for one in clearances_of(store, alias)), default=date.min)
    return [
        answer
        for answer in answers_of(store, alias)
        if answer.day > through
        and (
            answer.flags_raised or (most_pain is not None and (answer.worst_pain or 0) > most_pain)
        )
    ]


def tick(store: Store, alias: str, done: Ticked) -> None:
    """Write down what was done without a film; what was ticked off for that day before is replaced.

    Raises RecordsError for numbers that cannot be, or if there is no such client.
    """
    if not 1 <= done.sets <= 99:
        raise RecordsError(f"sets: {done.sets} is not from 1 to 99")
    refuse_future(done.day, "ticked off")
    owner = client_id(store, alias)
    with store.transaction():
        store.write(
            "INSERT INTO ticked (client_id, exercise, side, day, sets, count, held_s, recorded_at) "
            "VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (client_id, exercise, side, day) DO UPDATE "
            "SET sets = excluded.sets, count = excluded.count, held_s = excluded.held_s, "
            "recorded_at = excluded.recorded_at",
            *(owner, done.exercise, done.side, done.day.isoformat()),
            *(done.sets, done.count, done.held_s, now()),
        )


def ticked_of(store: Store, alias: str) -> list[Ticked]:
    """What a client ticked off, by day."""
    rows = store.rows(
        "SELECT exercise, side, day, sets, count, held_s FROM ticked WHERE client_id = ? "
        "ORDER BY day, exercise, side",
        client_id(store, alias),
    )
    return [Ticked(row[0], row[1], date.fromisoformat(row[2]), *tuple(row)[3:]) for row in rows]


def _row_of(answer: Answer) -> dict[str, object]:
    said = asdict(answer) | {"day": answer.day.isoformat()}
    flags = said.pop("red_flags")
    content = {key: value for key, value in said.items() if key != "source"} | {"flags": flags}
    text = json.dumps(content, sort_keys=True)
    digest = hashlib.sha256(text.encode("utf-8")).hexdigest()
    return said | {"sha256": digest, "recorded_at": now()}
