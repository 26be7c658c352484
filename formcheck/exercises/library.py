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
from formcheck.exercises.inherit import merged
from formcheck.exercises.schema import Exercise
from formcheck.exercises.toml_file import read_toml

SUFFIX = ".toml"


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
    return _validated(*_resolved(_find(str(name_or_path), None), ()))


def validate_file(path: str | Path) -> Exercise:
    """The exercise in the file at ``path``, whatever its ending; errors as for load_exercise."""
    file = Path(path)
    return _validated(*_resolved(_Origin(file, str(path), file.parent), ()))


def exercise_with(name_or_path: str | Path, changes: Mapping[str, Any], label: str) -> Exercise:
    """An exercise with ``changes`` laid over it as an exercise file that is like it would.

    ``label`` names the place of the changes in messages. Raises ExerciseError.
    """
    parent = load_exercise(name_or_path)
    raw, problems = merged(parent.model_dump(mode="json", exclude_none=True), changes)
    return _validated(raw, label, problems)


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
        message += f'; did you mean "{close}"?'
    if "/" in name or "\\" in name:
        message += f"; the path of an exercise file must end in {SUFFIX}"
    return message + "; 'formcheck exercises' lists them all"


def _resolved(origin: _Origin, chain: tuple[str, ...]) -> tuple[Mapping[str, Any], str, list[str]]:
    """The tables of a file with those of the exercise it is like underneath."""
    raw = read_toml(origin.file, origin.label)
    like = raw.get("like")
    if not isinstance(like, str):
        return raw, origin.label, []
    chain = (*chain, origin.label)
    try:
        found = _find(like, origin.folder)
    except ExerciseError as error:
        raise ExerciseError(f"{origin.label}: like = {like!r}: {error}") from None
    if found.label in chain:
        circle = " -> ".join((*chain, found.label))
        raise ExerciseError(f"{origin.label}: like = {like!r}: goes in a circle: {circle}")
    parent, label, problems = _resolved(found, chain)
    # A mistake in the parent is reported as the parent's.
    _validated(parent, label, problems)
    tables, problems = merged(parent, raw)
    return tables, origin.label, problems


def _validated(raw: Mapping[str, Any], label: str, problems: list[str]) -> Exercise:
    try:
        exercise = Exercise.model_validate(raw)
        problems = problems + contradictions(exercise)
    except ValidationError as error:
        problems = problems + problems_of(error, Exercise, raw)
    if problems:
        raise ExerciseError("\n".join(f"{label}: {problem}" for problem in problems))
    return exercise
