"""Result folders into the record: whose they are, of which day, and what became of each."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from formcheck.errors import RecordsError
from formcheck.records.answer_file import answer_from_dict
from formcheck.records.answers import add_answer
from formcheck.records.sets import Recorded, days_of_clip, record_result
from formcheck.records.store import Store

RESULT, BATCH = "result.json", "batch.json"
_MOST_BYTES = 64 * 2**20
"""Room for the result of hours of film; anything larger is some other file. Mechanical."""


@dataclass(frozen=True, slots=True)
class RecordedFolder:
    """What became of a result folder: ``done`` is None where it was left out, and ``why`` says why.

    ``day`` is its day, and ``moved_from`` the one for which the clip was recorded until now, if another.
    """

    folder: Path
    alias: str
    done: Recorded | None
    why: str = ""
    day: date | None = None
    moved_from: date | None = None


def record_folder(
    store: Store,
    folder: str | Path,
    *,
    alias: str | None = None,
    day: date | None = None,
    load: str = "",
    filmed_again: bool = False,
) -> Iterator[RecordedFolder]:
    """Record every result in a folder, which is a result folder or holds some.

    Each goes in whole or not at all, one after the other, and those that are in already are left as
    they are: a run that was cut short is finished by the next. ``alias`` and ``day`` are for results
    that do not say whose and of which day they are; where they say another, they are left out.
    ``load`` is what was held or pulled; ``filmed_again`` marks sets that were filmed again, the camera
    put up anew, to see how far results repeat.

    Raises RecordsError if the folder holds no results.
    """
    found = list(result_folders(Path(folder)))
    if not found:
        raise RecordsError(f"{folder} holds no results; name a folder that check or batch wrote")
    for one in found:
        yield _record(store, one, alias, day, {"load": load, "filmed_again": filmed_again})


def result_folders(folder: Path) -> Iterator[Path]:
    """The folder itself if it is a result, and those in it that are, by name."""
    if (folder / RESULT).is_file():
        yield folder
        return
    if not folder.is_dir():
        return
    for inner in sorted(folder.iterdir()):
        if inner.name[0] != "." and (inner / RESULT).is_file():
            yield inner


def _record(
    store: Store, folder: Path, alias: str | None, day: date | None, more: Mapping[str, Any]
) -> RecordedFolder:
    whose = alias or ""
    try:
        result = _read(folder / RESULT)
        known = _said(result, folder)
        whose = _agreed("client", alias, known["client"], "--client")
        when = _agreed("day", day.isoformat() if day else None, known["day"], "--date")
        on = date.fromisoformat(when)
        before = days_of_clip(store, result["clip"]["sha256"])
        done = record_result(
            store,
            whose,
            result,
            day=on,
            folder=folder.absolute(),
            **more,
        )
        if result.get("answers"):
            add_answer(store, whose, answer_from_dict(result["answers"]))
    except RecordsError as error:
        return RecordedFolder(folder, whose, None, str(error))
    except (KeyError, TypeError, ValueError):
        return RecordedFolder(folder, whose, None, "its answers are not such as a form saves")
    moved_from = before[0] if before and on not in before else None
    return RecordedFolder(folder, whose, done, day=on, moved_from=moved_from)


def _read(path: Path) -> dict[str, Any]:
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise ValueError
        result = json.loads(path.read_text("utf-8"))
        if result["schema"] != 1 or not {"clip", "reps", "dose", "provenance"} <= set(result):
            raise ValueError
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        raise RecordsError(f"{path} is not a result that formcheck wrote") from None
    found: dict[str, Any] = result
    return found


def _said(result: Mapping[str, Any], folder: Path) -> dict[str, str]:
    """Client and day of a result, by itself or by what a batch wrote beside it."""
    try:
        outcome = json.loads((folder / BATCH).read_text("utf-8"))["outcome"]
    except (OSError, ValueError, KeyError, TypeError):
        outcome = {}
    prescribed = result.get("prescription") or {}
    return {
        "client": result.get("client") or prescribed.get("client") or outcome.get("client") or "",
        "day": result.get("made_on") or outcome.get("made_on") or "",
    }


def _agreed(what: str, given: str | None, said: str, option: str) -> str:
    """The one that is known. Raises RecordsError if none is, or two that differ are."""
    if given and said and given.casefold() != said.casefold():
        raise RecordsError(f'its {what} is "{said}", not "{given}"')
    if not (given or said):
        raise RecordsError(
            f"its {what} is not known; give it to formcheck record with {option}, or to a batch in the "
            "clip's name or a manifest"
        )
    return given or said
