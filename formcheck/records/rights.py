"""What a client may ask for: everything that is kept of them in one file, and that none of it is."""

import csv
import io
import json
import shutil
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from sqlite3 import Row

from formcheck.atomic_output import RESULT, whole_file
from formcheck.landmarks.cache import LANDMARKS_VERSION, LandmarkCache, cache_key
from formcheck.pipeline.settings import Settings
from formcheck.records.answers import SCALES, Answer, answers_of
from formcheck.records.clients import client_id
from formcheck.records.recording import BATCH
from formcheck.records.sets import RecordedSet, result_of, sets_of
from formcheck.records.store import Store, backups_of, now
from formcheck.records.summary import MeasuredCheck

_OF_CLIENT = ("programme", "phase_entry", "ticked", "answer", "clearance", "note")
_OF_SET = ("overrule", "baseline")
_PAGES = (".html", ".pdf", ".csv", ".json", ".jpg", ".mp4")
_LEFT_OUT = ("client_id", "result")
_ABOUT = """What formcheck keeps of the client called {alias}, written on {day}.

record/*.json    what is in the record, one file a table
sets.csv         every recorded set
measured.csv     what each check of each set came to
answers.csv      what was said: pain, effort, words, and the warning signs that were answered yes
results/         the result of each set, as result.json has it
sheets/          the pages that were made of each set, as far as they are still there
programmes/      what was prescribed, each version as it was

Pain and effort are from 0 to 10. Days are written year-month-day, times in UTC.
"""


@dataclass(frozen=True, slots=True)
class Traces:
    """Everything of a client that ``forget`` removes.

    ``rows`` counts the rows of the record, by table; ``folders`` are result folders that are still
    there and still theirs; ``landmarks`` the cached landmarks of their clips; ``backups`` the copies
    that were made of the record before its layout changed, which go as a whole.
    """

    rows: dict[str, int]
    folders: tuple[Path, ...]
    landmarks: tuple[Path, ...]
    backups: tuple[Path, ...]


def export_client(store: Store, alias: str, target: Path) -> None:
    """Write everything that is recorded of a client as a zip of JSON, CSV and their sheets.

    Raises RecordsError if there is no such client, or OSError if the file cannot be written.
    """
    owner = client_id(store, alias)
    sets = sets_of(store, alias)
    with (
        whole_file(target) as draft,
        zipfile.ZipFile(draft, "w", zipfile.ZIP_DEFLATED) as archive,
    ):
        archive.writestr("READ ME.txt", _ABOUT.format(alias=alias, day=now()[:10]))
        for name, rows in _tables(store, owner):
            archive.writestr(f"record/{name}.json", _as_json(rows))
        archive.writestr("sets.csv", _as_csv(*_set_table(sets)))
        archive.writestr("measured.csv", _as_csv(*_measured_table(sets)))
        archive.writestr("answers.csv", _as_csv(*_answer_table(answers_of(store, alias))))
        for row in store.rows("SELECT * FROM programme WHERE client_id = ?", owner):
            archive.writestr(f"programmes/{row['version']}-{row['file_name']}", row["text"])
        for one in sets:
            name = f"{one.day} {one.exercise} {one.id}"
            result = json.dumps(result_of(store, one.id), indent=2, ensure_ascii=False)
            archive.writestr(f"results/{name}.json", result)
            for page in _pages_of(one):
                archive.write(page, f"sheets/{name}/{page.name}")


def traces_of(store: Store, alias: str) -> Traces:
    """Everything of a client that would be removed. Raises RecordsError if there is none."""
    owner = client_id(store, alias)
    sets = sets_of(store, alias, checks=False)
    folders = [Path(one.folder) for one in sets if _is_theirs(one)]
    return Traces(
        rows={name: len(rows) for name, rows in _tables(store, owner) if rows},
        folders=tuple(dict.fromkeys(folders)),
        landmarks=tuple(_landmarks_of(sets)),
        backups=tuple(backups_of(store.path)),
    )


def forget_client(store: Store, alias: str) -> list[Path]:
    """Remove everything of a client, and search for the alias in what is left of the record.

    Result folders, cached landmarks and older copies of the record go first, then the rows, whose
    space is overwritten and given back. What a batch wrote of several clients is not touched: run it
    again, or remove its summary.

    Returns
    -------
    The files of the record in which the alias still stands: none, unless another client's entries
    hold it.
    """
    owner, traces = client_id(store, alias), traces_of(store, alias)
    known = store.row("SELECT alias FROM client WHERE id = ?", owner)
    names = {alias, str(known["alias"])} if known else {alias}
    for folder in traces.folders:
        shutil.rmtree(folder)
    for file in (*traces.landmarks, *traces.backups):
        file.unlink(missing_ok=True)
    with store.transaction():
        store.write("DELETE FROM client WHERE id = ?", owner)
        store.write("DELETE FROM audit WHERE client_id = ?", owner)
        store.write(
            "INSERT INTO audit (at, change, subject) VALUES (?, 'forgotten', 'client')", now()
        )
    store.compact()
    return [path for path in files_of(store.path) if _holds(path, names)]


def files_of(place: Path) -> list[Path]:
    """The files of a record: itself and what SQLite writes beside it."""
    beside = [place.with_name(place.name + ending) for ending in ("", "-wal", "-shm", "-journal")]
    return [path for path in beside if path.exists()] + backups_of(place)


def _holds(path: Path, names: Iterable[str]) -> bool:
    """Whether a name stands in a file, in capitals or not."""
    content = path.read_bytes().lower()
    return any(name.lower().encode("utf-8") in content for name in names)


def _is_theirs(one: RecordedSet) -> bool:
    """Whether the folder still holds the result of that clip; another may have taken its place."""
    if not one.folder:
        return False
    try:
        result = json.loads((Path(one.folder) / RESULT).read_text("utf-8"))
        return bool(result["clip"]["sha256"] == one.clip_sha256)
    except (OSError, ValueError, KeyError, TypeError):
        return False


def _landmarks_of(sets: Sequence[RecordedSet]) -> list[Path]:
    """The cached landmarks of the clips of sets: those that say so, and those whose key they give."""
    keys = {
        cache_key(one.clip_sha256, one.model_sha256, _of_frames(one), version)
        for one in sets
        for version in range(1, LANDMARKS_VERSION + 1)
    }
    return LandmarkCache().entries_of({one.clip_sha256 for one in sets}, keys)


def _of_frames(one: RecordedSet) -> dict[str, object]:
    """The settings that shaped the landmarks of a set, of those that its result tells."""
    told = json.loads(one.settings)
    return {name: told[name] for name in Settings().of_frames() if name in told}


def _pages_of(one: RecordedSet) -> Sequence[Path]:
    if not _is_theirs(one):
        return ()
    files = sorted(Path(one.folder).iterdir())
    return [f for f in files if f.is_file() and f.suffix in _PAGES and f.name != BATCH]


def _tables(store: Store, owner: int) -> Iterator[tuple[str, list[Row]]]:
    """Every table with the rows that are of a client."""
    yield "client", store.rows("SELECT * FROM client WHERE id = ?", owner)
    yield "recorded_set", store.rows("SELECT * FROM recorded_set WHERE client_id = ?", owner)
    for name in _OF_CLIENT:
        yield name, store.rows(f"SELECT * FROM {name} WHERE client_id = ?", owner)  # noqa: S608
    for name in _OF_SET:
        yield (
            name,
            store.rows(
                f"SELECT * FROM {name} WHERE set_id IN "  # noqa: S608
                "(SELECT id FROM recorded_set WHERE client_id = ?)",
                owner,
            ),
        )
    yield (
        "red_flag",
        store.rows(
            "SELECT * FROM red_flag WHERE answer_id IN (SELECT id FROM answer WHERE client_id = ?)",
            owner,
        ),
    )
    yield "audit", store.rows("SELECT * FROM audit WHERE client_id = ?", owner)


def _as_json(rows: Sequence[Row]) -> str:
    shown = [{k: v for k, v in dict(row).items() if k not in _LEFT_OUT} for row in rows]
    return json.dumps(shown, indent=2, ensure_ascii=False) + "\n"


def _set_table(sets: Sequence[RecordedSet]) -> tuple[list[str], list[list[object]]]:
    names = [field.name for field in fields(RecordedSet) if field.name != "checks"]
    return names, [[getattr(one, name) for name in names] for one in sets]


def _measured_table(sets: Sequence[RecordedSet]) -> tuple[list[str], list[list[object]]]:
    names = [field.name for field in fields(MeasuredCheck)]
    rows = [
        [one.day, one.exercise, *(getattr(check, name) for name in names)]
        for one in sets
        for check in one.checks
    ]
    return ["day", "exercise", *names], rows


def _answer_table(answers: Sequence[Answer]) -> tuple[list[str], list[list[object]]]:
    names = ["day", "exercise", *SCALES, "stopped_by", "words"]
    rows = [
        [*(getattr(one, name) for name in names), ", ".join(one.flags_raised)] for one in answers
    ]
    return [*names, "answered_yes"], rows


def _as_csv(head: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(head)
    writer.writerows([_rounded(cell) for cell in row] for row in rows)
    return text.getvalue()


def _rounded(cell: object) -> object:
    return round(cell, 3) if isinstance(cell, float) else cell
