"""Finding, reading and validating exercise files."""

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from formcheck.errors import ExerciseError
from formcheck.exercises.consistency import contradictions
from formcheck.exercises.explain import nearest, problems_of
from formcheck.exercises.inherit import following_dose, merged
from formcheck.exercises.schema import Exercise
from formcheck.exercises.toml_file import read_toml

SUFFIX = ".toml"
_TAKEN_BY_PARTS = ("title", "movement", "primary", "checks", "drawing")


@dataclass(frozen=True, slots=True)
class _Origin:
    """Where an exercise is read from; ``label`` names it in messages."""

    file: Path | Traversable
    label: str
    folder: Path | None


def library_names() -> tuple[str, ...]:
    """The names of the exercises that come with formcheck, in alphabetical order."""
    names = (entry.name for entry in _library().iterdir())
    return tuple(sorted(n.removesuffix(SUFFIX) for n in names if n.endswith(SUFFIX)))


def load_exercise(name_or_path: str | Path) -> Exercise:
    """The exercise of that name in the library, or that in the file of a path ending in ``.toml``.

    Raises ExerciseError: unknown name (with the nearest ones), or everything wrong with the file,
    one line a problem.
    """
    return _load(_find(str(name_or_path), None), ())


def validate_file(path: str | Path) -> Exercise:
    """The exercise in the file at ``path``, whatever its ending; errors as for load_exercise."""
    file = Path(path)
    return _load(_Origin(file, str(path), file.parent), ())


def exercise_with(
    exercise: Exercise, changes: Mapping[str, Any], label: str = "changes"
) -> Exercise:
    """``exercise`` with ``changes`` laid over it, as a file that is like it would.

    ``changes`` are the keys of an exercise file (REFERENCE.md). ``label`` names their place in
    messages. Raises ExerciseError.
    """
    tables, problems = merged(_as_tables(exercise), changes)
    changed = following_dose(_validated(tables, label, problems), changes)
    return changed.model_copy(update={"like": exercise.like})  # it stays what it is


def _library() -> Traversable:
    return files("formcheck.exercises") / "library"


def _find(name: str, folder: Path | None) -> _Origin:
    """The origin of a name or path; paths are taken from ``folder`` on, where one is given."""
    if name.endswith(SUFFIX):
        path = (folder or Path()) / name
        return _Origin(path, str(path), path.parent)
    if name not in library_names():
        raise ExerciseError(_unknown(name))
    return _Origin(_library() / f"{name}{SUFFIX}", f"{name}{SUFFIX}", None)


def _unknown(name: str) -> str:
    message = f'there is no exercise called "{name}"'
    if close := nearest(name, library_names()):
        message += f' (did you mean "{close}"?)'
    if "/" in name or "\\" in name:
        message += f"; the path of an exercise file must end in {SUFFIX}"
    return message + "; 'formcheck exercises' lists them all"


def _load(origin: _Origin, chain: tuple[str, ...]) -> Exercise:
    """The exercise of one file; ``chain`` are the files that are like it, to find circles."""
    raw = read_toml(origin.file, origin.label)
    chain = (*chain, origin.label)
    tables, problems = _with_parts(raw, origin, chain)
    if isinstance(like := raw.get("like"), str):
        parent = _load_like(like, origin, "", chain)
        tables, more = merged(_as_tables(parent), tables)
        problems += more
    if origin.folder is not None and (name := raw.get("name")) in library_names():
        problems.append(f'name = "{name}": the library has this exercise; choose another name')
    return following_dose(_validated(tables, origin.label, problems), raw)


def _load_like(like: str, origin: _Origin, where: str, chain: tuple[str, ...]) -> Exercise:
    """The exercise that the file at ``origin`` (or its part at ``where``) is like.

    A mistake in that exercise is reported as its own.
    """
    place = f'{origin.label}: {where}like = "{like}"'
    try:
        found = _find(like, origin.folder)
    except ExerciseError as error:
        raise ExerciseError(f"{place}: {error}") from None
    if found.label in chain:
        circle = " -> ".join((*chain, found.label))
        raise ExerciseError(f"{place}: goes in a circle: {circle}")
    return _load(found, chain)


def _with_parts(
    raw: Mapping[str, Any], origin: _Origin, chain: tuple[str, ...]
) -> tuple[Mapping[str, Any], list[str]]:
    """``raw`` with what its parts take from other exercises filled in, and the problems met."""
    if not isinstance(raw.get("parts"), list):
        return raw, []
    parts: list[Any] = []
    problems: list[str] = []
    for part in raw["parts"]:
        like = part.get("like") if isinstance(part, Mapping) else None
        if not isinstance(like, str):
            parts.append(part)
            continue
        where = f'parts "{part.get("name", len(parts) + 1)}".'
        parent = _as_tables(_load_like(like, origin, where, chain))
        complete, more = merged(
            {key: parent[key] for key in _TAKEN_BY_PARTS if key in parent}, part
        )
        parts.append(complete)
        problems += [where + problem for problem in more]
    return {**raw, "parts": parts}, problems


def _as_tables(exercise: Exercise) -> dict[str, Any]:
    return exercise.model_dump(mode="json", exclude_none=True)


def _validated(tables: Mapping[str, Any], label: str, problems: list[str]) -> Exercise:
    try:
        exercise = Exercise.model_validate(tables)
        problems = problems + contradictions(exercise)
    except ValidationError as error:
        problems = problems + problems_of(error, Exercise, tables)
    if problems:
        raise ExerciseError("\n".join(f"{label}: {problem}" for problem in problems))
    return exercise
