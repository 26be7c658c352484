"""Which exercise and side a clip is checked as: named, prescribed, or recognised in the clip."""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from formcheck.exercises.programme import Programme
    from formcheck.measures.table import MeasureTable
    from formcheck.pipeline.selection import Choice
    from formcheck.pipeline.settings import SideChoice
    from formcheck.recognise.recognise import Guess

_HOW = "with --exercise"


def choices(
    exercise: str | None, side: "SideChoice | None", programme: "Programme | None"
) -> "tuple[Choice, ...]":
    """Everything that the clips may be, by what was asked for; the whole library if nothing was.

    Raises ExerciseError for an unknown name and UsageError for one that is not prescribed.
    """
    from formcheck.exercises.library import load_exercise
    from formcheck.pipeline.selection import Choice, any_exercise

    if programme is not None:
        return _prescribed(programme, exercise, side)
    if exercise is not None:
        return (Choice(load_exercise(exercise), side),)
    return any_exercise(side)


def _prescribed(
    programme: "Programme", name: str | None, side: "SideChoice | None"
) -> "tuple[Choice, ...]":
    from formcheck.errors import UsageError
    from formcheck.pipeline.selection import any_prescribed

    wanted = None if name is None else Path(name).stem if name.endswith(".toml") else name
    fitting = tuple(
        one
        for one in any_prescribed(programme.prescriptions)
        if wanted in (None, one.exercise.name) and side in (None, one.side)
    )
    if not fitting:
        what = " ".join(part for part in (wanted, f"side {side}" if side else "") if part)
        known = ", ".join(f"{p.exercise.name} ({p.side})" for p in programme.prescriptions)
        raise UsageError(f"{what}: not in this programme, which has {known}")
    return fitting


def settle(options: "Sequence[Choice]", table: "MeasureTable", clip: str) -> "Choice":
    """The one thing that this clip is: the only option, or the one recognised and agreed to.

    Asks where somebody can answer. Raises UnrecognisedError where nobody can and the clip alone
    does not make it clear enough.
    """
    if len(options) == 1:
        return options[0]
    from formcheck.errors import UnrecognisedError
    from formcheck.pipeline.selection import MIN_CONFIDENCE, guess, meant_by, unclear, undecided

    guesses = guess(options, table)
    somebody = sys.stdin.isatty() and sys.stderr.isatty()
    if not guesses or not (somebody or guesses[0].probability >= MIN_CONFIDENCE):
        raise UnrecognisedError(f"{clip}: {unclear(guesses, _HOW)}")
    meant = meant_by(guesses[0], options)
    if somebody:
        return _asked(guesses, meant, clip)
    if len(meant) > 1:
        raise UnrecognisedError(f"{clip}: {undecided(meant, _HOW)}")
    typer.echo(_looks_like(guesses[0], meant[0], clip), err=True)
    return meant[0]


def _asked(guesses: "Sequence[Guess]", meant: "Sequence[Choice]", clip: str) -> "Choice":
    """The one that somebody says yes to; with several that look the same, each is asked for."""
    from formcheck.errors import UnrecognisedError
    from formcheck.pipeline.selection import unclear

    for one in meant:
        line = _looks_like(guesses[0], one, clip)
        if len(meant) > 1:
            line += "; a camera cannot tell " + " from ".join(m.exercise.name for m in meant)
        question = f"{line}. Check it as {one.exercise.name}?"
        if typer.confirm(question, default=len(meant) == 1, err=True):
            return one
    raise UnrecognisedError(f"{clip}: {unclear(guesses, _HOW)}")


def _looks_like(best: "Guess", one: "Choice", clip: str) -> str:
    line = f"{clip}: looks like {one.exercise.title} ({one.exercise.name}), "
    return line + f"{best.side}, {best.probability:.0%} sure"
