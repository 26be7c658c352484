"""The filming guide of an exercise in words: where the camera stands and what each view can judge."""

from dataclasses import dataclass

from formcheck.exercises.schema import Check, Exercise
from formcheck.filming.advice import ViewAdvice, view_advice
from formcheck.text import capitalise_first, lower_first
from formcheck.words.labels import check_title
from formcheck.words.words import Words

_STEPS = ("camera", "see", "clothes", "light", "quiet", "whole")


@dataclass(frozen=True, slots=True)
class ViewLine:
    """One view: what can be judged from it and what not."""

    view: str
    judged: str
    not_judged: str


@dataclass(frozen=True, slots=True)
class FilmingCard:
    """The guide, top to bottom."""

    title: str
    advice: str
    steps: tuple[tuple[str, str], ...]
    views: tuple[ViewLine, ...]
    never: tuple[str, ...]


def filming_card(exercise: Exercise, words: Words) -> FilmingCard:
    """Where the camera stands, what must be seen, and what each view can judge."""
    advice = view_advice(exercise)
    return FilmingCard(
        title=exercise.title,
        advice=exercise.filming.advice,
        steps=tuple((words(f"filming.{s}"), words(f"filming.{s}_how")) for s in _STEPS),
        views=tuple(_view_line(one, words) for one in advice),
        never=exercise.cannot_judge,
    )


def _view_line(one: ViewAdvice, words: Words) -> ViewLine:
    return ViewLine(
        view=words(f"filming.from_{one.view}"),
        judged=_names(one.decided, words) or words("filming.nothing"),
        not_judged=_names(one.undecided, words),
    )


def _names(checks: tuple[Check, ...], words: Words) -> str:
    """What the checks are called, each once."""
    names = dict.fromkeys(check_title(check, words) for check in checks)
    return capitalise_first("; ".join(map(lower_first, names)))
