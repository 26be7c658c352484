"""What a clip may be checked as, and which of that it clearly shows."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from formcheck.errors import UnrecognisedError
from formcheck.exercises.library import library_names, load_exercise
from formcheck.exercises.programme import Prescription
from formcheck.exercises.schema import Exercise
from formcheck.measures.table import MeasureTable
from formcheck.recognise.recognise import Guess, recognise
from formcheck.recognise.traits import sharers

MIN_CONFIDENCE = 0.85
"""Less sure of the exercise than this, and a clip is not checked unless somebody says yes."""

HARDLY_THIS = 0.02
"""Less sure than this of the exercise that a clip was said to be, but sure of another, and somebody
should look: so it was of 9 of 461 made clips under their right names, all done wrong, and of 495 of
1,321 under wrong ones. (Sure from 95 % on: 3 and 237.)"""


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that a clip may be; ``side`` None is found from the clip."""

    exercise: Exercise
    side: Literal["left", "right", "both"] | None
    prescription: Prescription | None = None


def any_exercise(side: Literal["left", "right", "both"] | None) -> tuple[Choice, ...]:
    """Every exercise of the library."""
    return tuple(Choice(load_exercise(name), side) for name in library_names())


def any_prescribed(prescriptions: Sequence[Prescription]) -> tuple[Choice, ...]:
    """Every one of a client's prescriptions."""
    return tuple(Choice(one.exercise, one.side_to_check, one) for one in prescriptions)


def guess(options: Sequence[Choice], table: MeasureTable) -> tuple[Guess, ...]:
    """The exercises among the options that the clip may show, likeliest first."""
    unique = {option.exercise.name: _as_usual(option.exercise) for option in options}
    return recognise(table, list(unique.values()))


def meant_by(best: Guess, options: Sequence[Choice]) -> tuple[Choice, ...]:
    """The option of that exercise, and of that side where there is one.

    In a programme several, if it has variants that a camera cannot tell from that exercise: one of
    each. (Of the library's, the exercise itself is meant.)
    """
    prescribed = [one.exercise for one in options if one.prescription is not None]
    found = {}
    for exercise in sharers(best.exercise, prescribed):
        fitting = [one for one in options if one.exercise.name == exercise.name]
        on_side = [one for one in fitting if one.side in (None, best.side)]
        found[exercise.name] = (bool(on_side), (on_side or fitting)[0])
    any_on_side = any(fits for fits, _ in found.values())
    return tuple(one for fits, one in found.values() if fits or not any_on_side)


def clearly(options: Sequence[Choice], table: MeasureTable) -> Choice:
    """The one option that the clip shows. Raises UnrecognisedError if it does not make it clear."""
    how = "with --exercise or in a manifest"
    guesses = guess(options, table)
    if not guesses or guesses[0].probability < MIN_CONFIDENCE:
        raise unclear(guesses, how)
    meant = meant_by(guesses[0], options)
    if len(meant) > 1:
        raise undecided(meant, how)
    return meant[0]


def shows_another(exercise: Exercise, table: MeasureTable) -> Guess | None:
    """What a clip clearly shows in place of the exercise that it was said to be; None mostly."""
    exercise = _as_usual(exercise)
    library = [load_exercise(name) for name in library_names() if name != exercise.name]
    guesses = recognise(table, [*library, exercise])
    own = [one.probability for one in guesses if exercise in sharers(one.exercise, [exercise])]
    if not guesses or sum(own) >= HARDLY_THIS or guesses[0].probability < MIN_CONFIDENCE:
        return None
    return guesses[0]


def _as_usual(exercise: Exercise) -> Exercise:
    """The exercise without a programme's changes: a limit says what should be, not what is seen."""
    return load_exercise(exercise.name) if exercise.name in library_names() else exercise


def undecided(meant: Sequence[Choice], how: str) -> UnrecognisedError:
    """That the camera cannot tell these apart, and ``how`` to name one."""
    names = " or ".join(one.exercise.name for one in meant)
    return UnrecognisedError(
        f"this is {names}, all in the programme; a camera cannot tell them apart. Name it {how}."
    )


def unclear(guesses: Sequence[Guess], how: str) -> UnrecognisedError:
    """That the exercise cannot be told, with the likeliest ones, and ``how`` to name it."""
    nearest = ", ".join(f"{one.exercise.name} {one.probability:.0%}" for one in guesses[:3])
    nearest = f"{nearest} ({MIN_CONFIDENCE:.0%} is needed)" if guesses else "none is seen in it"
    return UnrecognisedError(
        f"which exercise this is cannot be told from the clip: {nearest}. Name it {how}."
    )
