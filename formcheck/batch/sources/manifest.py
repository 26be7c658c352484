"""What the rows of a manifest ask for: one job each, or every problem with row and column."""

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TypeVar

from formcheck.batch.job import Job
from formcheck.batch.sources.answers import answer_in
from formcheck.batch.sources.manifest_file import Problems, Row, read_rows
from formcheck.batch.sources.source import inside
from formcheck.catalogue.red_flags import MOST_PAIN
from formcheck.errors import ExerciseError, UsageError
from formcheck.exercises.explain import nearest
from formcheck.exercises.library import SUFFIX, load_exercise
from formcheck.exercises.programme import Prescription, Programme, load_programme
from formcheck.exercises.schema import Exercise
from formcheck.pipeline.settings import SideChoice, refuse_stature
from formcheck.text import strip_control

P = TypeVar("P")
T = TypeVar("T")

SIDES: tuple[SideChoice, ...] = ("left", "right", "both")
MAX_CLIENT = 80
"""Letters of a client's alias, so that it fits the head of a page. Mechanical."""
LONGEST_SHOWN = 120
"""Characters of a cell that a message quotes. Mechanical."""


def read_manifest(path: Path, *, exercise: str | None, side: SideChoice | None) -> list[Job]:
    """The jobs of a manifest, without folders yet.

    ``exercise`` and ``side`` stand in where a row gives none. Paths in it start from its own folder
    and may not leave that. Raises UsageError with everything wrong, one line a problem.
    """
    problems = Problems(path.name)
    rows = read_rows(path, problems)
    reader = _Reader(path.resolve().parent, problems, exercise, side)
    jobs = [reader.job(row) for row in rows]
    problems.stop_if_any()
    return [job for job in jobs if job is not None]


@dataclass(slots=True)
class _Reader:
    root: Path
    problems: Problems
    exercise: str | None
    side: SideChoice | None
    seen: dict[tuple[str, ...], int] = field(default_factory=dict)
    exercises: dict[str, Exercise | str] = field(default_factory=dict)
    programmes: dict[Path, Programme | str] = field(default_factory=dict)

    def job(self, row: Row) -> Job | None:
        """The job of a row; None if something about it is wrong, which is noted."""
        before = len(self.problems.found)
        clip = self._file(row, "clip")
        second = self._file(row, "second clip") if "second clip" in row.cells else None
        side, made_on, client = self._side(row), self._date(row), self._client(row)
        fitting = self._prescribed(row, side, client) if "programme" in row.cells else []
        prescription = fitting[0] if len(fitting) == 1 else None
        if fitting:
            client = fitting[0].client
        if prescription is not None:
            side = prescription.side_to_check
        exercise = prescription.exercise if prescription else self._exercise(row)
        answer, stature_cm = answer_in(row, made_on, self.problems), self._stature_cm(row)
        if len(self.problems.found) > before or clip is None:
            return None
        job = Job(
            clip=str(clip),
            shown=strip_control(clip.relative_to(self.root).as_posix()),
            exercise=exercise,
            side=side,
            client=client,
            made_on=made_on,
            prescription=prescription,
            prescriptions=() if prescription else tuple(fitting),
            answer=answer,
            most_pain=self._most_pain(row),
            second=str(second) if second else "",
            stature_cm=stature_cm,
        )
        earlier = self.seen.setdefault(tuple(job.identity.values()), row.number)
        if earlier != row.number:
            text = f"is there already with this exercise and side, in row {earlier}"
            self.problems.add(row.number, "clip", text)
        return job

    def _file(self, row: Row, column: str) -> Path | None:
        """The file that a cell names, inside the manifest's folder."""
        text = row.cells.get(column)
        if text is None:
            self.problems.add(row.number, column, "is empty; name a file")
            return None
        path = inside(self.root, Path(text))
        problem = ""
        if path is None:
            problem = "leads out of the manifest's folder; move the file there"
        elif not _is_file(path):
            problem = "there is no such file" + ("" if self.problems.enough else _hint(path))
        if problem:
            self.problems.add(row.number, column, f"{_quoted(text)} {problem}")
        return None if problem else path

    def _side(self, row: Row) -> SideChoice | None:
        text = row.cells.get("side", self.side)
        for side in SIDES:
            if text is not None and text.casefold() == side:
                return side
        if text is not None:
            self.problems.add(row.number, "side", f"{_quoted(text)} is not left, right or both")
        return None

    def _date(self, row: Row) -> date | None:
        text = row.cells.get("date")
        try:
            return date.fromisoformat(text) if text else None
        except ValueError:
            problem = f"{_quoted(text)} is not a date; write it as 2026-03-31"
            self.problems.add(row.number, "date", problem)
            return None

    def _stature_cm(self, row: Row) -> float | None:
        text = row.cells.get("stature cm")
        if text is None:
            return None
        try:
            refuse_stature(given_cm := float(text))
        except ValueError:
            self.problems.add(row.number, "stature cm", f"{_quoted(text)} is not a number of cm")
        except UsageError as error:
            self.problems.add(row.number, "stature cm", str(error))
        else:
            return given_cm
        return None

    def _client(self, row: Row) -> str:
        text = row.cells.get("client", "")
        if len(text) > MAX_CLIENT:
            self.problems.add(row.number, "client", f"is longer than {MAX_CLIENT} letters")
        return strip_control(text)

    def _exercise(self, row: Row) -> Exercise | None:
        if "programme" in row.cells:
            return None  # it is one of the programme's
        name = row.cells.get("exercise", self.exercise)
        if name is None:
            return None  # to be recognised in the clip
        if name.endswith(SUFFIX) and "exercise" in row.cells:
            path = self._file(row, "exercise")
            if path is None:
                return None
            name = str(path)
        if name not in self.exercises:
            self.exercises[name] = _loaded(load_exercise, name)
        return self._unless_wrong(row, "exercise", self.exercises[name])

    def _prescribed(self, row: Row, side: SideChoice | None, client: str) -> list[Prescription]:
        """What of a row's programme the row may mean."""
        programme = self._programme(row)
        if programme is None:
            return []
        if client not in ("", programme.client):
            text = f'{_quoted(client)} is not the client of this programme, "{programme.client}"'
            self.problems.add(row.number, "client", text)
        name = row.cells.get("exercise", self.exercise)
        fitting = [p for p in programme.prescriptions if name in (None, p.exercise.name)]
        if not fitting:
            known = ", ".join(dict.fromkeys(p.exercise.name for p in programme.prescriptions))
            text = f"{_quoted(name)} is not in this programme, which has {known}"
            self.problems.add(row.number, "exercise", text)
            return []
        chosen = [p for p in fitting if side in (None, p.side_to_check)]
        if not chosen:
            which = ", ".join(f"{p.exercise.name} {p.side}" for p in fitting)
            text = f"{_quoted(side)} is not what the programme has: {which}"
            self.problems.add(row.number, "side", text)
        return chosen

    def _programme(self, row: Row) -> Programme | None:
        path = self._file(row, "programme")
        if path is None:
            return None
        if path not in self.programmes:
            self.programmes[path] = _loaded(load_programme, path)
        programme = self._unless_wrong(row, "programme", self.programmes[path])
        if programme is None:
            return None
        try:
            return programme.in_phase(row.cells.get("phase"))
        except ExerciseError as error:
            self.problems.add(row.number, "phase", str(error))
            return None

    def _most_pain(self, row: Row) -> int:
        """The most pain of a row's programme, already read; the usual one where it sets none."""
        path = inside(self.root, Path(row.cells.get("programme", "")))
        programme = self.programmes.get(path) if path else None
        own = getattr(programme, "pain_at_most", None)
        return MOST_PAIN if own is None else int(own)

    def _unless_wrong(self, row: Row, column: str, loaded: T | str) -> T | None:
        if not isinstance(loaded, str):
            return loaded
        for line in loaded.splitlines():
            self.problems.add(row.number, column, line)
        return None


def _quoted(cell: str | None) -> str:
    """A cell as it stands in a message: a note pasted into the wrong column is cut short."""
    text = cell or ""
    return f'"{text}"' if len(text) <= LONGEST_SHOWN else f'"{text[:LONGEST_SHOWN]}..."'


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # a name longer than the disk allows
        return False


def _hint(path: Path) -> str:
    """What a file that is not there may have been meant to be."""
    try:
        files = [Path(entry.name) for entry in os.scandir(path.parent) if entry.is_file()]
    except (OSError, ValueError):
        return "; paths start from the manifest's folder"
    by_stem = {file.stem: file.name for file in files}  # endings are alike whatever the name
    close = nearest(path.stem, list(by_stem))
    return f'; did you mean "{by_stem[close]}"?' if close else "; check its name"


def _loaded(load: Callable[[P], T], place: P) -> T | str:
    """What is at a place, or everything that is wrong with it."""
    try:
        return load(place)
    except ExerciseError as error:
        return str(error)
