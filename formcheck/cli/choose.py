"""Which exercise and side a clip is checked as: named, prescribed, or recognised in the clip."""

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from formcheck.exercises.programme import Prescription, Programme
    from formcheck.exercises.schema import Exercise
    from formcheck.measures.table import MeasureTable
    from formcheck.pipeline import SideChoice
    from formcheck.recognise.recognise import Guess


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that a clip may be; ``side`` None is found from the clip."""

    exercise: "Exercise"
    side: "SideChoice | None"
    prescription: "Prescription | None" = None


def choices(
    exercise: str | None, side: "SideChoice | None", programme: "Programme | None"
) -> tuple[Choice, ...]:
    """Everything that the clips may be, by what was asked for; the whole library if nothing was.

    Raises ExerciseError for an unknown name and UsageError for one that is not prescribed.
    """
    from formcheck.exercises.library import library_names, load_exercise

    if programme is not None:
        return _prescribed(programme, exercise, side)
    names = (exercise,) if exercise is not None else library_names()
    return tuple(Choice(load_exercise(name), side) for name in names)


def _prescribed(
    programme: "Programme", name: str | None, side: "SideChoice | None"
) -> tuple[Choice, ...]:
    from formcheck.errors import UsageError

    wanted = None if name is None else Path(name).stem if name.endswith(".toml") else name
    fitting = tuple(
        Choice(one.exercise, own, one)
        for one in programme.prescriptions
        if wanted in (None, one.exercise.name) and side in (None, own := _side_of(one))
    )
    if not fitting:
        what = " ".join(part for part in (wanted, f"side {side}" if side else "") if part)
        known = ", ".join(f"{p.exercise.name} ({p.side})" for p in programme.prescriptions)
        raise UsageError(f"{what}: not in this programme, which has {known}")
    return fitting


def _side_of(prescription: "Prescription") -> "SideChoice":
    return "both" if prescription.side == "alternating" else prescription.side  # type: ignore[return-value]


def settle(options: Sequence[Choice], table: "MeasureTable", clip: str) -> Choice:
    """The one thing that this clip is: the only option, or the one recognised and agreed to.

    Asks where somebody can answer. Raises UnrecognisedError where nobody can and the clip alone
    does not make it clear enough.
    """
    if len(options) == 1:
        return options[0]
    from formcheck.recognise.recognise import recognise
    from formcheck.recognise.settled import unrecognised

    guesses = recognise(
        table, list({option.exercise.name: option.exercise for option in options}.values())
    )
    best = guesses[0] if guesses else None
    if best is None:
        raise unrecognised(clip, "none of them is seen in it")
    _confirm(best, guesses, clip)
    fitting = [one for one in options if one.exercise.name == best.exercise.name]
    return next((one for one in fitting if one.side in (None, best.side)), fitting[0])


def _confirm(best: "Guess", guesses: Sequence["Guess"], clip: str) -> None:
    """Go on if it is clear enough, or if somebody says so."""
    from formcheck.recognise.settled import nearest_of, surest, unrecognised

    line = f"{clip}: looks like {best.exercise.title} ({best.exercise.name}), "
    line += f"{best.side}, {best.probability:.0%} sure"
    if sys.stdin.isatty() and sys.stderr.isatty():
        if not typer.confirm(f"{line}. Check it as that?", default=True, err=True):
            raise unrecognised(clip, nearest_of(guesses))
        return
    surest(guesses, clip)
    typer.echo(line, err=True)
