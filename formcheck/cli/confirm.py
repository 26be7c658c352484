"""Asking whether a clip shows what was recognised in it."""

import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from formcheck.exercises.schema import Exercise
    from formcheck.pipeline.selection import Candidate, Confirm
    from formcheck.recognise.recognise import Guess


def confirm_on_terminal(clip: str, before_asking: Callable[[], None]) -> "Confirm | None":
    """Somebody at the terminal, who can be asked; None where nobody is there to answer."""
    if not _somebody_there():
        return None

    def confirm(best: "Guess", one: "Candidate", alike: "Sequence[Candidate]") -> bool:
        before_asking()
        line = looks_like(best, one.exercise, clip)
        if len(alike) > 1:
            line += "; a camera cannot tell " + " from ".join(c.exercise.name for c in alike)
        question = f"{line}. Check it as {one.exercise.name}?"
        return typer.confirm(question, default=len(alike) == 1, err=True)

    return confirm


def ask_on_terminal() -> Callable[[str], bool] | None:
    """A question to somebody at the terminal; None where nobody is there to answer."""
    if not _somebody_there():
        return None
    return lambda question: typer.confirm(question, default=True, err=True)


def _somebody_there() -> bool:
    return sys.stdin.isatty() and sys.stderr.isatty()


def looks_like(best: "Guess", exercise: "Exercise", clip: str) -> str:
    """What was recognised in a clip, and how surely."""
    line = f"{clip}: looks like {exercise.title} ({exercise.name}), "
    return line + f"{best.side}, {best.probability:.0%} sure"
