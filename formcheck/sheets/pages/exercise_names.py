"""What exercises and their checks are called, by the names that a record keeps."""

from functools import cache

from formcheck.errors import ExerciseError
from formcheck.exercises.library import load_exercise
from formcheck.exercises.schema import Check, Exercise
from formcheck.records.progress import Subject
from formcheck.text import lower_first
from formcheck.words.labels import check_label, check_title
from formcheck.words.words import Words


def exercise_title(name: str, words: Words) -> str:
    """The title of an exercise of the library; of another one its name."""
    exercise = _exercise(name)
    return words.tell(exercise.title) if exercise else name.replace("-", " ")


def subject_title(subject: Subject, words: Words) -> str:
    """``Belly press, hold, right``: what a series is of."""
    check = _check(subject)
    if check is not None:
        what = check_title(check, words)
    else:
        what = check_label(subject.measure, subject.statistic, subject.phase, words)
    side = words(f"side.{subject.side}") if subject.side else ""
    part = subject.part.replace("-", " ")
    parts = (exercise_title(subject.exercise, words), part, lower_first(what), side)
    return ", ".join(one for one in parts if one)


def _check(subject: Subject) -> Check | None:
    exercise = _exercise(subject.exercise)
    if exercise is None:
        return None
    checks = (*exercise.checks, *(c for part in exercise.parts for c in part.checks))
    return next((check for check in checks if check.id == subject.check_id), None)


@cache
def _exercise(name: str) -> Exercise | None:
    try:
        return load_exercise(name)
    except ExerciseError:
        return None
