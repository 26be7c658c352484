"""What is kept beside each result, so that finished work is known again and never done twice.

``DIR/NAME/batch.json`` lies in a finished result folder, ``DIR/set-aside/NAME.json`` says why a clip
has none. Both hold the key of the work: what went into it, so that anything changed is done again.
"""

import hashlib
import json
import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, fields, replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from formcheck.atomic_output import OUTPUT_NAMES, flush_to_disk, prepare_folder, whole_file
from formcheck.batch.job import (
    Job,
    Outcome,
    Setup,
    Status,
    exercise_to_json,
    outcome_of,
    prescription_to_json,
)
from formcheck.clips.files import fingerprint
from formcheck.errors import OutputError
from formcheck.landmarks.bundles import find_bundle
from formcheck.records.answer_file import answer_to_dict
from formcheck.result_folder import ASIDE

ENTRY = "batch.json"
STATE = ".formcheck-batch"
"""Folder for locks."""

_SCHEMA = 2
_OF_JOB = ("share", "answer", "most_pain")
"""Options of the sheets that are each job's own, or change nothing in them."""
_KEYS = {"triage": "attention", "cached": "kept"}
"""Keys of an outcome in an entry where they are not the names of its fields."""


@dataclass(frozen=True, slots=True)
class _Entry:
    key: str
    owner: dict[str, Any]
    files: dict[str, int]
    limits: dict[str, float]
    outcome: Outcome
    second: str


def key_of(job: Job, setup: Setup, clip_sha256: str) -> str:
    """One hash over everything that a clip's result depends on."""
    settings = {k: v for k, v in asdict(job.settings(setup)).items() if k != "use_cache"}
    sheets = {k: v for k, v in asdict(setup.sheets).items() if k not in _OF_JOB}
    parts = {
        "clip": clip_sha256,
        "exercise": exercise_to_json(job.exercise),
        "side": job.side,
        "client": job.client,
        "made_on": job.made_on.isoformat() if job.made_on else None,
        "prescription": prescription_to_json(job.prescription),
        "prescriptions": [prescription_to_json(one) for one in job.prescriptions],
        "answer": answer_to_dict(job.answer) if job.answer else None,
        "most_pain": job.most_pain,
        "settings": settings,
        "sheets": sheets,
        "model_sha256": _model_sha256(setup.settings.model),
        "formcheck": setup.formcheck,
    }
    if job.second:
        parts["second"] = fingerprint(Path(job.second))
    return hashlib.sha256(json.dumps(parts, sort_keys=True).encode()).hexdigest()


def finished(job: Job, setup: Setup, key: str, folder: Path) -> Outcome | None:
    """The outcome of an earlier run that still holds, or None if there is work to do.

    ``folder`` is where the clip's result belongs.
    """
    entry = _read(folder / ENTRY)
    if entry and entry.key == key and _whole(folder, entry.files) and _second_whole(entry, setup):
        succeed(job, setup)
        return entry.outcome
    entry = _read(_aside_path(setup.out, job.folder))
    same = entry and key and entry.key == key and entry.limits == asdict(setup.limits)
    return entry.outcome if entry and same and not setup.retry else None


def complete(folder: Path, job: Job, key: str, outcome: Outcome, second: str = "") -> None:
    """Write the entry of a folder whose files are all there, and get everything onto the disk.

    ``second`` is the folder of the second clip's own result, where the job has led to two.
    """
    sizes = {
        path.name: path.stat().st_size for path in sorted(folder.iterdir()) if path.name != ENTRY
    }
    layout = _layout(job, key, outcome) | {"files": sizes} | ({"second": second} if second else {})
    text = json.dumps(layout, indent=2)
    (folder / ENTRY).write_text(text + "\n", encoding="utf-8")
    for path in (*folder.iterdir(), folder):
        flush_to_disk(path)


def note_moved(folder: Path, moved_from: date) -> None:
    """Keep beside a result for which day the record of clients had its clip until now.

    Raises OutputError.
    """
    content = json.loads((folder / ENTRY).read_text("utf-8"))
    content["outcome"]["moved_from"] = moved_from.isoformat()
    write_file(folder / ENTRY, json.dumps(content, indent=2) + "\n", share=False)


def set_aside(
    job: Job,
    setup: Setup,
    key: str,
    reason: str,
    *,
    status: Status = "set-aside",
    triage: str = "unseen",
    notes: str = "",
) -> Outcome:
    """Keep why a clip has no result, and give that as its outcome.

    ``notes`` are for whoever looks into it.
    """
    plain = reason.removeprefix(f"{Path(job.clip).name}: ")  # the clip is named beside it
    outcome = outcome_of(job, status, triage, plain[:1].upper() + plain[1:])
    layout = _layout(job, key, outcome) | {"limits": asdict(setup.limits), "notes": notes}
    text = json.dumps(layout, indent=2) + "\n"
    write_file(_aside_path(setup.out, job.folder), text, share=setup.sheets.share)
    return outcome


def withdraw(folder: Path, job: Job) -> None:
    """Remove an earlier result of a job, but nothing that somebody else put beside it."""
    entry = _read(folder / ENTRY)
    if entry is None or entry.owner["clip"] != job.clip:
        return
    for name in OUTPUT_NAMES:
        (folder / name).unlink(missing_ok=True)
    with suppress(OSError):  # not empty
        folder.rmdir()


def succeed(job: Job, setup: Setup) -> None:
    """Forget why a clip had no result."""
    _aside_path(setup.out, job.folder).unlink(missing_ok=True)


def write_file(target: Path, text: str, *, share: bool) -> None:
    """Write a file so that it is there whole or not at all. Raises OutputError."""
    prepare_folder(target.parent, share=share)
    try:
        with whole_file(target, durable=True, share=share) as draft:
            draft.write_text(text, encoding="utf-8", newline="")
    except OSError as error:
        raise OutputError(
            f"{target} cannot be written: {error.strerror or error}. "
            "Free the folder or choose another with --out; what is finished there is kept."
        ) from error


class Outcomes:
    """Every outcome that a results folder holds; records read before are not read again."""

    def __init__(self, out: Path) -> None:
        self._out = out
        self._known: dict[str, tuple[int, Outcome | None]] = {}

    def read(self) -> list[Outcome]:
        """All of them. Why a clip could not be checked counts before an older result of it.

        Raises OutputError if the folder has gone.
        """
        before, self._known = self._known, {}
        aside = {
            path.name.removesuffix(".json"): path for path in (self._out / ASIDE).glob("*.json")
        }
        try:
            with os.scandir(self._out) as entries:
                names = [entry.name for entry in entries if entry.name[0] != "."]
        except OSError as error:
            raise OutputError(
                f"{self._out} can no longer be read ({error.strerror}). "
                "Start the batch again; it goes on with what is there."
            ) from error
        paths = [self._out / name / ENTRY for name in names if name not in aside]
        for path in (*aside.values(), *paths):
            try:
                changed_ns = path.stat().st_mtime_ns
            except OSError:
                continue
            known = before.get(str(path))
            if known is None or known[0] != changed_ns:
                entry = _read(path)
                known = changed_ns, entry.outcome if entry else None
            self._known[str(path)] = known
        return [outcome for _, outcome in self._known.values() if outcome]


def owner_of(out: Path, name: str) -> dict[str, Any] | None:
    """Whose folder that is: clip, exercise, side, and the clip's size in ``bytes``."""
    entry = _read(out / name / ENTRY) or _read(_aside_path(out, name))
    return entry.owner if entry else None


def owned_aside(out: Path, alias: str) -> list[Path]:
    """The files that say why clips of a client have no result."""
    found = ((path, _read(path)) for path in sorted((out / ASIDE).glob("*.json")))
    return [
        path
        for path, entry in found
        if entry and entry.outcome.client.casefold() == alias.casefold()
    ]


def size_of(clip: str) -> int:
    """Size of a local clip in bytes; 0 where it cannot be told."""
    try:
        return os.stat(clip).st_size
    except (OSError, ValueError):
        return 0


def _layout(job: Job, key: str, outcome: Outcome) -> dict[str, Any]:
    return {
        "schema": _SCHEMA,
        "key": key,
        "owner": {**job.identity, "bytes": size_of(job.clip)},
        "outcome": {_KEYS.get(k, k): v for k, v in asdict(replace(outcome, cached=False)).items()},
    }


def _read(path: Path) -> _Entry | None:
    """An entry; None where there is none or it is not one of this schema."""
    try:
        content = json.loads(path.read_text("utf-8"))
        if content["schema"] != _SCHEMA:
            return None
        stored = content["outcome"]
        keys = {field.name: _KEYS.get(field.name, field.name) for field in fields(Outcome)}
        outcome = {name: stored[key] for name, key in keys.items() if key in stored}
        return _Entry(
            key=str(content["key"]),
            owner=dict(content["owner"]),
            files=dict(content.get("files", {})),
            limits=dict(content.get("limits", {})),
            outcome=Outcome(**outcome).as_cached(),
            second=str(content.get("second", "")),
        )
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return None


def _whole(folder: Path, sizes: Mapping[str, int]) -> bool:
    """Whether all files of a result are there at their full size; a power cut may shorten them."""
    try:
        return bool(sizes) and all((folder / n).stat().st_size == size for n, size in sizes.items())
    except OSError:
        return False


def _second_whole(entry: _Entry, setup: Setup) -> bool:
    """Whether the second clip's own result is there too, if the work has led to two."""
    if not entry.second:
        return True
    other = _read(setup.out / entry.second / ENTRY)
    same = other is not None and other.key == entry.key
    return bool(same and other and _whole(setup.out / entry.second, other.files))


def _aside_path(out: Path, name: str) -> Path:
    return out / ASIDE / f"{name}.json"


@cache
def _model_sha256(model: str) -> str:
    return find_bundle(model).sha256
