"""Recorded sets: a result goes in once, however often it is recorded."""

import json
import zlib
from collections.abc import Mapping
from dataclasses import astuple, dataclass, fields
from datetime import date
from enum import StrEnum
from pathlib import Path
from sqlite3 import Row
from typing import Any

from formcheck.errors import RecordsError
from formcheck.records.clients import client_id
from formcheck.records.days import refuse_future
from formcheck.records.store import Store, now
from formcheck.records.summary import (
    MeasuredCheck,
    Overruled,
    checks_of,
    counts_of,
    result_sha256,
    spans,
)


class Recorded(StrEnum):
    """What became of a result that was to be recorded."""

    ADDED = "added"
    REPLACED = "replaced"
    KNOWN = "known"


@dataclass(frozen=True, slots=True)
class RecordedSet:
    """One recorded result of a clip.

    ``load`` is what was held or pulled, in the coach's words. ``yaw_deg`` is how far the subject is
    turned from the camera, with its standard uncertainty. ``settings`` is how the clip was looked at
    (JSON). ``sets_met`` of the ``sets`` in the clip surely reached the dose; ``count`` is of whole
    repetitions, ``held_s`` the seconds held in all. ``limit_state`` is a LimitState, or empty.
    ``camera_distance_m`` and ``camera_elevation_deg`` say where the camera stood, None where that is not
    known. ``filmed_again`` marks one that was filmed again on purpose, the camera put up anew, on the same
    day.
    """

    id: int
    clip_sha256: str
    result_sha256: str
    exercise: str
    side: str
    day: date
    load: str
    view: str
    yaw_deg: float | None
    yaw_sd_deg: float | None
    model_sha256: str
    formcheck: str
    settings: str
    sets: int
    sets_met: int
    count: int
    held_s: float
    limit_state: str
    folder: str
    filmed_again: bool = False
    camera_distance_m: float | None = None
    camera_elevation_deg: float | None = None
    checks: tuple[MeasuredCheck, ...] = ()


_COLUMNS = ", ".join(field.name for field in fields(RecordedSet) if field.name != "checks")
_CHECK_COLUMNS = ", ".join(field.name for field in fields(MeasuredCheck))


def record_result(
    store: Store,
    alias: str,
    result: Mapping[str, Any],
    *,
    day: date,
    load: str = "",
    folder: str | Path = "",
    filmed_again: bool = False,
) -> Recorded:
    """Record a result, as ``result.json`` has it, for a client.

    The same result again changes nothing. A clip that was checked anew takes the place of what it
    gave before, and keeps what the coach said of it: so no repetition counts twice.

    Raises
    ------
    RecordsError
        There is no such client, the clip is another client's, it was not judged, or its day is to come.
    """
    if not result["quality"]["usable"] or not result["exercise"]:
        raise RecordsError(f"{result['clip']['file']} was not judged; there is nothing to record")
    refuse_future(day, result["clip"]["file"])
    owner, digest = client_id(store, alias), result_sha256(result)
    row = _row_of(result, day, load) | {
        "client_id": owner,
        "result_sha256": digest,
        "folder": str(folder),
        "filmed_again": int(filmed_again),
    }
    with store.transaction():
        same_clip = store.rows(
            "SELECT * FROM recorded_set WHERE clip_sha256 = ?", row["clip_sha256"]
        )
        if any(one["client_id"] != owner for one in same_clip):
            raise RecordsError(
                f"{result['clip']['file']} is recorded for another client already; a clip belongs to "
                "one. Remove it there first: formcheck client forget, or record it under that alias."
            )
        earlier = [one for one in same_clip if _same_doing(one, result)]
        if any(one["result_sha256"] == digest and _same(one, row) for one in earlier):
            return Recorded.KNOWN
        if not earlier:
            _insert(store, row, result)
            return Recorded.ADDED
        _replace(store, earlier, row, result)
        return Recorded.REPLACED


def sets_of(
    store: Store, alias: str, *, exercise: str | None = None, checks: bool = True
) -> list[RecordedSet]:
    """The sets of a client by day; with what each check came to, unless ``checks`` is false."""
    owner = client_id(store, alias)
    chosen, values = ("AND exercise = ?", (owner, exercise)) if exercise else ("", (owner,))
    rows = store.rows(
        f"SELECT {_COLUMNS} FROM recorded_set WHERE client_id = ? {chosen} "  # noqa: S608
        "ORDER BY day, id",
        *values,
    )
    found: dict[int, list[MeasuredCheck]] = {row["id"]: [] for row in rows}
    if checks:
        for one in store.rows(
            f"SELECT set_id, {_CHECK_COLUMNS} FROM measured WHERE set_id IN "  # noqa: S608
            "(SELECT id FROM recorded_set WHERE client_id = ?)",
            owner,
        ):
            if one["set_id"] in found:
                found[one["set_id"]].append(MeasuredCheck(*tuple(one)[1:]))
    return [
        RecordedSet(
            **dict(row)
            | {
                "day": date.fromisoformat(row["day"]),
                "filmed_again": bool(row["filmed_again"]),
                "checks": tuple(found[row["id"]]),
            }
        )
        for row in rows
    ]


def days_of_clip(store: Store, clip_sha256: str) -> list[date]:
    """The days for which results of a clip are recorded."""
    rows = store.rows("SELECT DISTINCT day FROM recorded_set WHERE clip_sha256 = ?", clip_sha256)
    return sorted(date.fromisoformat(row["day"]) for row in rows)


def result_of(store: Store, set_id: int) -> dict[str, Any]:
    """The result of a recorded set, as ``result.json`` has it. Raises RecordsError if there is none."""
    row = store.row("SELECT result FROM recorded_set WHERE id = ?", set_id)
    if row is None:
        raise RecordsError(f"there is no set {set_id} in the record")
    return _unpacked(row["result"])


def count_again(store: Store, set_id: int) -> None:
    """Count the verdicts of a set again, after the coach has overruled one."""
    _write_checks(store, set_id, result_of(store, set_id))


def _row_of(result: Mapping[str, Any], day: date, load: str) -> dict[str, object]:
    made = result["provenance"]
    counts = counts_of(result)
    return {
        "clip_sha256": result["clip"]["sha256"],
        "exercise": result["exercise"],
        "side": result["side"],
        "day": day.isoformat(),
        "load": load or (result.get("prescription") or {}).get("load") or "",
        "view": result["view"]["name"],
        "yaw_deg": result["view"]["yaw_deg"],
        "yaw_sd_deg": result["view"]["uncertainty_deg"],
        "camera_distance_m": result["view"].get("camera_distance_m"),
        "camera_elevation_deg": result["view"].get("camera_elevation_deg"),
        "model_sha256": made["model_sha256"],
        "formcheck": made["formcheck"],
        "settings": json.dumps(made["settings"], sort_keys=True),
        "sets": counts.sets,
        "sets_met": counts.sets_met,
        "count": counts.count,
        "held_s": counts.held_s,
        "limit_state": str(counts.limit_state),
        "recorded_at": now(),
        "result": zlib.compress(json.dumps(result, ensure_ascii=False).encode("utf-8")),
    }


def _same(earlier: Row, row: Mapping[str, object]) -> bool:
    """Whether it was recorded with the same day, load and place."""
    return all(earlier[name] == row[name] for name in ("day", "load", "folder", "filmed_again"))


def _same_doing(earlier: Row, result: Mapping[str, Any]) -> bool:
    """Whether an earlier result of the clip is of what this one is of.

    That is the same exercise and side, or repetitions of an arm at the same time: one movement is not
    two exercises, but a clip may show two exercises one after the other.
    """
    if (earlier["exercise"], earlier["side"]) == (result["exercise"], result["side"]):
        return True
    theirs = list(spans(_unpacked(earlier["result"])))
    return any(
        start < their_end and their_start < end and ("both" in (side, whose) or side == whose)
        for side, start, end in spans(result)
        for whose, their_start, their_end in theirs
    )


def _insert(store: Store, row: Mapping[str, object], result: Mapping[str, Any]) -> None:
    marks = ", ".join("?" * len(row))
    set_id = store.write(
        f"INSERT INTO recorded_set ({', '.join(row)}) VALUES ({marks})",  # noqa: S608
        *row.values(),
    )
    _write_checks(store, set_id, result)


def _replace(
    store: Store, earlier: list[Row], row: Mapping[str, object], result: Mapping[str, Any]
) -> None:
    """Put a result in the place of the earliest of those it replaces, and drop the others."""
    kept, *others = (int(one["id"]) for one in earlier)
    for other in others:
        store.write("UPDATE note SET set_id = ? WHERE set_id = ?", kept, other)
        store.write("UPDATE overrule SET set_id = ? WHERE set_id = ?", kept, other)
        store.write("DELETE FROM recorded_set WHERE id = ?", other)
    changes = ", ".join(f"{name} = ?" for name in row)
    store.write(f"UPDATE recorded_set SET {changes} WHERE id = ?", *row.values(), kept)  # noqa: S608
    _write_checks(store, kept, result)


def _write_checks(store: Store, set_id: int, result: Mapping[str, Any]) -> None:
    overruled = [
        Overruled(*tuple(row))
        for row in store.rows(
            "SELECT at_s, check_id, side, verdict FROM overrule WHERE set_id = ? ORDER BY id",
            set_id,
        )
    ]
    store.write("DELETE FROM measured WHERE set_id = ?", set_id)
    rows = [(set_id, *astuple(check)) for check in checks_of(result, overruled)]
    marks = ", ".join("?" * (1 + len(fields(MeasuredCheck))))
    store.write_many(
        f"INSERT INTO measured (set_id, {_CHECK_COLUMNS}) VALUES ({marks})",  # noqa: S608
        rows,
    )


def _unpacked(packed: bytes) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(zlib.decompress(packed))
    return found
