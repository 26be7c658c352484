"""The filming guide of an exercise in words: where the camera stands and what each view can judge."""

from dataclasses import dataclass

from formcheck.exercises.schema import Check, Exercise
from formcheck.filming.advice import ViewAdvice, view_advice
from formcheck.filming.pairs import pair_advice
from formcheck.text import capitalise_first, lower_first
from formcheck.words.labels import check_title
from formcheck.words.words import Words

_TWO_STEPS = ("still", "clap", "turn", "set")
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
        steps=filming_steps(words),
        views=tuple(_view_line(one, words) for one in advice),
        never=exercise.cannot_judge,
    )


def filming_steps(words: Words) -> tuple[tuple[str, str], ...]:
    """What to do before any clip is filmed, and how, in the order in which it is done."""
    return tuple((words(f"filming.{step}"), words(f"filming.{step}_how")) for step in _STEPS)


@dataclass(frozen=True, slots=True)
class PairCard:
    """How two phones film an exercise, top to bottom."""

    title: str
    where: str
    steps: tuple[str, ...]
    judged: str
    gained: str


def pair_card(exercise: Exercise, words: Words) -> PairCard:
    """Where both phones stand, what to do before the set, and what the pair can judge."""
    advice = pair_advice(exercise)
    first, second = (words(f"filming.from_{view}") for view in advice.views)
    return PairCard(
        title=exercise.title,
        where=words("filming.two_where", first=first, second=lower_first(second)),
        steps=tuple(words(f"filming.two_{step}") for step in _TWO_STEPS),
        judged=_names(advice.decided, words) or words("filming.nothing"),
        gained=_names(advice.gained, words) or words("filming.two_nothing_gained"),
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
