"""The file that the record of clients is kept in: where it lies, how it is opened and brought up to date.

SQLite with a write-ahead log, foreign keys, and every change on the disk before it counts as made. The
file is its user's alone; encryption at rest is the disk's. All SQL of formcheck is in this package.
"""

import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import cache
from importlib import resources
from pathlib import Path
from types import TracebackType

from platformdirs import user_data_path

from formcheck.errors import RecordsError

PLACE_VARIABLE = "FORMCHECK_RECORDS"
APPLICATION_ID = 0x666D6372
"""Marks a SQLite file as a record of formcheck (``PRAGMA application_id``). Mechanical."""
_PATIENCE_S = 20.0
"""Longest wait for another process that is writing. Mechanical."""
_TAKEN = ("database is locked", "database table is locked")
_CLOSED = (
    "it and its folder must be open to you for reading and writing, on a disk that allows both"
)
_WHY = {
    sqlite3.SQLITE_FULL: "the disk is full, and nothing was changed; make room and try again",
    sqlite3.SQLITE_CANTOPEN: _CLOSED,
    sqlite3.SQLITE_READONLY: _CLOSED,
}
"""What stands behind an error of the database, by its primary result code."""
_PRIMARY_CODE = 0xFF
"""The bits of a result code of SQLite that are its primary one (its documentation, from memory).
Mechanical."""


def default_place() -> Path:
    """Where the record lies: ``FORMCHECK_RECORDS``, or the platform's folder for a user's data."""
    moved = os.environ.get(PLACE_VARIABLE)
    return Path(moved) if moved else user_data_path("formcheck") / "records.sqlite"


class Store:
    """The open record. Close it, or use it in a ``with`` block."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._connection = connection

    def rows(self, sql: str, *values: object) -> list[sqlite3.Row]:
        """What a query finds."""
        with _told(self.path):
            return self._connection.execute(sql, values).fetchall()

    def row(self, sql: str, *values: object) -> sqlite3.Row | None:
        """The first row that a query finds, if any."""
        return next(iter(self.rows(sql, *values)), None)

    def write(self, sql: str, *values: object) -> int:
        """Change something; the id of the row that was added last. Belongs in a ``transaction``."""
        with _told(self.path):
            return self._connection.execute(sql, values).lastrowid or 0

    def write_many(self, sql: str, rows: Sequence[Sequence[object]]) -> None:
        """Change something once for each row of values. Belongs in a ``transaction``."""
        with _told(self.path):
            self._connection.executemany(sql, rows)

    @contextmanager
    def transaction(self) -> Iterator[None]:
        """All changes of the block are made together, or none of them is."""
        if self._connection.in_transaction:  # part of a larger change
            yield
            return
        self.write("BEGIN IMMEDIATE")
        try:
            yield
            self.write("COMMIT")
        except BaseException:
            if self._connection.in_transaction:
                self._connection.execute("ROLLBACK")
            raise

    def check_integrity(self) -> None:
        """Raise RecordsError if the file is damaged or a row refers to one that is not there."""
        wrong = [str(row[0]) for row in self.rows("PRAGMA integrity_check") if row[0] != "ok"]
        wrong += [f"{row[0]} refers to nothing" for row in self.rows("PRAGMA foreign_key_check")]
        if wrong:
            raise RecordsError(
                f"{self.path} is damaged: {wrong[0]}. Put back a copy of it from before, and keep "
                "this one aside."
            )

    def compact(self) -> None:
        """Give back the space of what was removed, so that nothing of it is left in the file."""
        with _told(self.path):
            self._connection.execute("VACUUM")
            busy = self._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
        if busy:
            raise RecordsError(f"{self.path} is in use by another formcheck; try again after it")

    def close(self) -> None:
        """Close the file. What was written stays."""
        self._connection.close()

    def __enter__(self) -> "Store":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def open_store(path: str | Path | None = None, *, create: bool = False) -> Store:
    """Open the record at ``path`` (``default_place()`` if none is given).

    One of an earlier formcheck is brought up to date, after a copy of it was put beside it. It is
    made only if ``create`` is true, for its user alone to read.

    Raises
    ------
    RecordsError
        There is none, or it is damaged, of a newer formcheck, in use, or another kind of file.
    """
    place = Path(path) if path is not None else default_place()
    if not place.exists():
        if not create:
            raise RecordsError(
                f"there is no record of clients at {place}; `formcheck client add ALIAS` starts one"
            )
        _make(place)
    with _told(place):
        connection = sqlite3.connect(place, isolation_level=None, timeout=_PATIENCE_S)
    try:
        with _told(place):
            _refuse_foreign(place, connection)
            _set_up(connection)
            _migrate(place, connection)
    except BaseException:
        connection.close()
        raise
    return Store(place, connection)


def now() -> str:
    """The present moment as it is written down: UTC, to the second."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


@cache
def migrations() -> tuple[str, ...]:
    """The steps from an empty file to the present layout, in order; step n makes version n."""
    folder = resources.files(__package__) / "schema"
    steps = sorted(
        (step for step in folder.iterdir() if step.name.endswith(".sql")),
        key=lambda step: step.name,
    )
    return tuple(step.read_text("utf-8") for step in steps)


def _make(place: Path) -> None:
    try:
        place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        os.close(os.open(place, os.O_RDWR | os.O_CREAT, 0o600))  # what SQLite adds takes after it
    except OSError as error:
        raise RecordsError(
            f"{place} cannot be made ({error.strerror}); set {PLACE_VARIABLE} to a file in a folder "
            "of your own"
        ) from error


def _set_up(connection: sqlite3.Connection) -> None:
    connection.row_factory = sqlite3.Row
    for setting in (
        "foreign_keys = ON",
        "journal_mode = WAL",
        "synchronous = FULL",
        "secure_delete = ON",
    ):
        connection.execute(f"PRAGMA {setting}")


def _migrate(place: Path, connection: sqlite3.Connection) -> None:
    """Bring the file to the present layout, each step whole or not at all."""
    steps = migrations()
    version = _version(connection)
    if version > len(steps):
        raise RecordsError(
            f"{place} was made by a newer formcheck; install that one or a later one"
        )
    if 0 < version < len(steps):
        _copy(connection, backup_of(place, version))
    while version < len(steps):
        connection.execute("BEGIN IMMEDIATE")
        try:
            version = _version(connection)  # another process may have been quicker
            if version < len(steps):
                for statement in statements(steps[version]):
                    connection.execute(statement)
                version += 1
                connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
                connection.execute(f"PRAGMA user_version = {version}")
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise


def statements(script: str) -> Iterator[str]:
    """The statements of a script, one by one, so that a transaction can go around them."""
    pending = ""
    for line in script.splitlines(keepends=True):
        pending += line
        if sqlite3.complete_statement(pending):
            yield pending
            pending = ""


def backup_of(place: Path, version: int) -> Path:
    """Where the copy of a record goes before it leaves that version of the layout."""
    return place.with_name(f"{place.name}.before-{version + 1:04}")


def backups_of(place: Path) -> list[Path]:
    """The copies that were made of a record before its layout changed."""
    return sorted(place.parent.glob(f"{place.name}.before-*"))


def _copy(connection: sqlite3.Connection, target: Path) -> None:
    target.unlink(missing_ok=True)
    os.close(os.open(target, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
    copy = sqlite3.connect(target)
    try:
        connection.backup(copy)
    finally:
        copy.close()


def _version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _refuse_foreign(place: Path, connection: sqlite3.Connection) -> None:
    mark = connection.execute("PRAGMA application_id").fetchone()[0]
    empty = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0
    if mark != APPLICATION_ID and not (mark == 0 and empty):
        raise RecordsError(f"{place} is a database of something else; name another file")


@contextmanager
def _told(place: Path) -> Iterator[None]:
    """Errors of the database as ours, in one line."""
    try:
        yield
    except sqlite3.IntegrityError:
        raise
    except sqlite3.DatabaseError as error:
        if str(error) in _TAKEN:
            why = "another formcheck is writing to it; try again when that is done"
        else:
            why = _WHY.get(getattr(error, "sqlite_errorcode", 0) & _PRIMARY_CODE) or (
                f"{error}. If it was moved or damaged, put back a copy of it from before"
            )
        raise RecordsError(f"{place} cannot be used: {why}.") from error
