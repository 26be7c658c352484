"""What the coach says: notes on a client or a set, and verdicts that overrule the measured ones."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from sqlite3 import Row
from typing import Any, Literal

from formcheck.errors import RecordsError
from formcheck.records.clients import client_id
from formcheck.records.days import refuse_future
from formcheck.records.sets import count_again, result_of
from formcheck.records.store import Store, now
from formcheck.records.summary import whole_reps

CoachVerdict = Literal["within", "outside", "not-measurable"]


@dataclass(frozen=True, slots=True)
class Note:
    """A note of the coach; ``set_id`` is the set it is about, if it is about one."""

    day: date
    by: str
    words: str
    set_id: int | None = None


@dataclass(frozen=True, slots=True)
class Overrule:
    """The coach's verdict on a check of one repetition, beside the measured one.

    ``rep`` is the number of the repetition and ``measured`` its verdict in the result that there is now,
    None and empty where it no longer has that check. ``at_s`` is the middle of the repetition in the clip,
    ``written_at`` when the verdict was given (UTC).
    """

    set_id: int
    at_s: float
    rep: int | None
    check_id: str
    side: str
    measured: str
    verdict: str
    by: str
    words: str
    written_at: str


def add_note(store: Store, alias: str, note: Note) -> None:
    """Write down a note. Raises RecordsError if it lacks words or a name, or names no set of theirs."""
    if not note.by.strip() or not note.words.strip():
        raise RecordsError("a note needs words and who wrote them")
    refuse_future(note.day, "note")
    owner = client_id(store, alias)
    with store.transaction():
        if note.set_id is not None:
            _own_set(store, owner, note.set_id)
        store.write(
            "INSERT INTO note (client_id, set_id, day, by, words, recorded_at) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            *(owner, note.set_id, note.day.isoformat(), note.by.strip(), note.words.strip(), now()),
        )


def notes_of(store: Store, alias: str) -> list[Note]:
    """All notes on a client, by day."""
    rows = store.rows(
        "SELECT day, by, words, set_id FROM note WHERE client_id = ? ORDER BY day, id",
        client_id(store, alias),
    )
    return [Note(date.fromisoformat(row[0]), *tuple(row)[1:]) for row in rows]


def overrule(
    store: Store,
    alias: str,
    set_id: int,
    *,
    rep: int,
    check_id: str,
    verdict: CoachVerdict,
    by: str,
    words: str,
    side: str = "",
) -> None:
    """Give the coach's verdict on a check of a repetition, which counts from then on.

    ``rep`` is the repetition's number on the sheet; ``side`` is needed where the check has one for
    each arm. The measured verdict stays in the result.

    Raises
    ------
    RecordsError
        There is no such set, repetition or check, or no words or name were given.
    """
    if not by.strip() or not words.strip():
        raise RecordsError("an overrule needs the reason in words and who gives it")
    owner = client_id(store, alias)
    with store.transaction():
        _own_set(store, owner, set_id)
        at_s = _moment_of(result_of(store, set_id), rep, check_id, side)
        store.write(
            "INSERT INTO overrule (set_id, at_s, check_id, side, verdict, by, words, recorded_at) "
            "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            *(set_id, at_s, check_id, side, verdict, by.strip(), words.strip(), now()),
        )
        count_again(store, set_id)


def overrules_of(store: Store, alias: str) -> list[Overrule]:
    """All overrules of a client's sets, each beside the verdict that was measured."""
    rows = store.rows(
        "SELECT o.* FROM overrule o JOIN recorded_set s ON s.id = o.set_id "
        "WHERE s.client_id = ? ORDER BY o.id",
        client_id(store, alias),
    )
    return [
        Overrule(
            set_id=row["set_id"],
            at_s=row["at_s"],
            check_id=row["check_id"],
            side=row["side"],
            **_found(store, row),
            verdict=row["verdict"],
            by=row["by"],
            words=row["words"],
            written_at=row["recorded_at"],
        )
        for row in rows
    ]


def _own_set(store: Store, owner: int, set_id: int) -> None:
    if not store.row("SELECT 1 FROM recorded_set WHERE id = ? AND client_id = ?", set_id, owner):
        raise RecordsError(f"there is no set {set_id} of this client")


def _moment_of(result: dict[str, object], rep: int, check_id: str, side: str) -> float:
    for one in whole_reps(result):
        if one["index"] != rep:
            continue
        if any((c["id"], c["side"] or "") == (check_id, side) for c in one["checks"]):
            return float(one["start_s"] + one["end_s"]) / 2
        raise RecordsError(f"repetition {rep}: {_no_check(one['checks'], check_id, side)}")
    raise RecordsError(f"the set has no whole repetition {rep}")


def _no_check(checks: Sequence[Mapping[str, Any]], check_id: str, side: str) -> str:
    """Why a check is not found among those of a repetition, and what can be named."""
    sides = sorted({c["side"] or "" for c in checks if c["id"] == check_id})
    if sides == [""]:
        return f"check {check_id} has no side; leave --side out"
    if sides:
        there = " or ".join(f"--side {one}" for one in sides)
        return f"check {check_id} is of {' and '.join(sides)}; give {there}"
    known = ", ".join(sorted({str(c["id"]) for c in checks}))
    return f"there is no check {check_id}; there is {known}"


def _found(store: Store, row: Row) -> dict[str, Any]:
    """The repetition of an overrule in the result that there is now, and the verdict that it has."""
    for rep in whole_reps(result_of(store, row["set_id"])):
        if rep["start_s"] <= row["at_s"] <= rep["end_s"]:
            for check in rep["checks"]:
                if (check["id"], check["side"] or "") == (row["check_id"], row["side"]):
                    return {"rep": int(rep["index"]), "measured": str(check["verdict"])}
    return {"rep": None, "measured": ""}
