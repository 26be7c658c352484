"""What clients say, from the columns of a manifest and from the files that lie beside their clips."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from formcheck.batch.job import Job
from formcheck.batch.sources.manifest_file import Problems, Row
from formcheck.clip_name import slug
from formcheck.errors import FormcheckError
from formcheck.records.answer_file import PATTERN, merged, read_answer_file, read_flags
from formcheck.records.answers import SCALE, SCALES, Answer


def answer_in(row: Row, made_on: date | None, problems: Problems) -> Answer | None:
    """What the client says in a row; None if nothing, or if something is wrong, which is noted."""
    cells = {name: row.cells.get(name.replace("_", " "), "") for name in (*SCALES, *_TEXTS)}
    flags = _flags(row, problems)
    if not any(cells.values()) and not flags:
        return None
    said: dict[str, Any] = {name: _number(row, name, cells[name], problems) for name in SCALES}
    day = made_on or date.min
    if made_on is None:
        problems.add(row.number, "date", "is empty; answers need the day that they are about")
    said |= {name: cells[name] for name in _TEXTS}
    return Answer(day=day, red_flags=flags, source="manifest", **said)


_TEXTS = ("stopped_by", "words")


def _number(row: Row, name: str, cell: str, problems: Problems) -> int | None:
    if not cell:
        return None
    if re.fullmatch("[0-9]{1,2}", cell) and SCALE[0] <= int(cell) <= SCALE[1]:
        return int(cell)
    problem = f'"{cell:.20}" is not a whole number from 0 to 10'
    problems.add(row.number, name.replace("_", " "), problem)
    return None


def _flags(row: Row, problems: Problems) -> dict[str, bool]:
    flags, wrong = read_flags(row.cells.get("red flags", ""))
    for line in wrong:
        problems.add(row.number, "red flags", line)
    return flags


def with_answers(jobs: Sequence[Job], folder: Path) -> tuple[list[Job], list[str]]:
    """Jobs with the answers that their clients saved in files below a folder, and lines about them.

    A file belongs to the clips of its client and day, or of one exercise where it names one.
    """
    found: list[tuple[str, Answer]] = []
    told: list[str] = []
    for path in sorted(folder.rglob(PATTERN)):
        if any(part.startswith(".") for part in path.relative_to(folder).parts):
            continue
        try:
            found.append(read_answer_file(path))
        except FormcheckError as error:
            told.append(str(error))
    answered = [_answered(job, found) for job in jobs]
    used = {id(answer) for job in jobs for answer in _of(job, found)}
    told += [
        f"answers of {client} of {answer.day} fit no clip here; record them with formcheck answer"
        for client, answer in found
        if id(answer) not in used
    ]
    return answered, told


def _answered(job: Job, found: Iterable[tuple[str, Answer]]) -> Job:
    answer = merged(_of(job, found))
    return replace(job, answer=answer) if answer else job


def _of(job: Job, found: Iterable[tuple[str, Answer]]) -> list[Answer]:
    return [
        answer
        for client, answer in found
        if job.client
        and slug(client) == slug(job.client)
        and answer.day == job.made_on
        and answer.exercise in ("", job.exercise_name)
    ]
