"""What was prescribed for a client, and from which day on."""

import hashlib
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from pathlib import Path

from pydantic import TypeAdapter

from formcheck.errors import RecordsError
from formcheck.exercises.programme import Programme, load_programme
from formcheck.exercises.programme_file import common_limits
from formcheck.records.clients import client_id, tidy_alias
from formcheck.records.store import Store, now
from formcheck.text_file import read_text_file

_MOST_BYTES = 2**20
"""Room for a programme many times over. Mechanical."""


@dataclass(frozen=True, slots=True)
class ProgrammeVersion:
    """A programme as it was prescribed from ``from_day`` on.

    ``text`` is the file as it was then, ``programme`` what it came to with the library of the time.
    """

    version: int
    from_day: date
    file_name: str
    sha256: str
    text: str
    programme: Programme


def prescribe(store: Store, alias: str, path: str | Path, *, from_day: date) -> int:
    """Record a programme file as what holds from that day on; the number of its version.

    The same text as the latest version changes nothing.

    Raises
    ------
    ExerciseError
        The programme is wrong.
    RecordsError
        It is another client's, or starts before the version that it follows.
    """
    file = Path(path)
    plan = load_programme(file)
    if tidy_alias(plan.client).casefold() != tidy_alias(alias).casefold():
        raise RecordsError(f'{file} is the programme of "{plan.client}", not of "{alias}"')
    text = read_text_file(file, str(path), _MOST_BYTES)
    digest = hashlib.sha256(text.encode("utf-8")).hexdigest()
    owner = client_id(store, alias)
    with store.transaction():
        latest = store.row(
            "SELECT * FROM programme WHERE client_id = ? ORDER BY version DESC LIMIT 1", owner
        )
        if latest is not None and latest["sha256"] == digest:
            return int(latest["version"])
        if latest is not None and from_day.isoformat() < latest["from_day"]:
            raise RecordsError(
                f"the programme of {alias} in force starts on {latest['from_day']}; one that follows "
                "it cannot start earlier"
            )
        version = 1 + (int(latest["version"]) if latest is not None else 0)
        store.write(
            "INSERT INTO programme (client_id, version, sha256, from_day, file_name, text, "
            "plan, recorded_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            *(owner, version, digest, from_day.isoformat(), file.name, text),
            *(_adapter().dump_json(plan).decode("utf-8"), now()),
        )
    return version


def programmes_of(store: Store, alias: str) -> list[ProgrammeVersion]:
    """All versions of a client's programme, the earliest first."""
    rows = store.rows(
        "SELECT * FROM programme WHERE client_id = ? ORDER BY version", client_id(store, alias)
    )
    return [
        ProgrammeVersion(
            **{name: row[name] for name in ("version", "file_name", "sha256", "text")},
            from_day=date.fromisoformat(row["from_day"]),
            # The text has them also where the programme was recorded without.
            programme=replace(
                _adapter().validate_json(row["plan"]), limits=common_limits(row["text"])
            ),
        )
        for row in rows
    ]


@cache
def _adapter() -> TypeAdapter[Programme]:
    return TypeAdapter(Programme)
