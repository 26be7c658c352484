"""``formcheck answer``: what a client says of a session, into the record."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING, Annotated

import typer

from formcheck.catalogue.red_flags import RedFlag
from formcheck.cli.options import RecordOption, day_of, grouped

if TYPE_CHECKING:
    from formcheck.records.answers import Answer
    from formcheck.records.store import Store


def _scale(what: str) -> object:
    return typer.Option(min=0, max=10, help=f"{what}, 0 to 10.")


@dataclass(frozen=True, slots=True)
class SaidOptions:
    """What was said; all of it may be left out."""

    pain_before: Annotated[int | None, _scale("Pain before")] = None
    pain_during: Annotated[int | None, _scale("The most pain during")] = None
    pain_after: Annotated[int | None, _scale("Pain in the hour after")] = None
    pain_next_morning: Annotated[int | None, _scale("Pain the next morning")] = None
    effort: Annotated[int | None, _scale("Effort")] = None
    stopped_by: Annotated[str, typer.Option(help="What stopped them.")] = ""
    words: Annotated[str, typer.Option(help="Anything else, in their words.")] = ""
    flag: Annotated[
        str,
        typer.Option(
            help="Red flags answered yes, with commas between, or: none. "
            f"There is {', '.join(RedFlag)}."
        ),
    ] = ""


@grouped
def answer(
    whom: Annotated[
        list[str],
        typer.Argument(help="An alias, or files that the form saved.", metavar="ALIAS|FILE"),
    ],
    day: Annotated[
        str | None, typer.Option("--date", help="Day of the session; today by default.")
    ] = None,
    exercise: Annotated[
        str, typer.Option(help="The exercise that it is about; otherwise the whole session.")
    ] = "",
    said: SaidOptions = SaidOptions(),
    records: RecordOption = None,
) -> None:
    """Record what a client says: pain, effort, what stopped them, red flags; or files of answers.

    Example: formcheck answer heron --pain-during 3 --effort 6 --flag none

    Example: formcheck answer heron_answers_2026-03-31_101500.json
    """
    from formcheck.records.answer_file import read_answer_file
    from formcheck.records.store import open_store

    files = [one for one in whom if one.endswith(".json")]
    found = [read_answer_file(Path(one)) for one in files]
    found += [(one, _answer(said, day, exercise)) for one in whom if one not in files]
    with open_store(records) as store:
        for alias, one in found:
            _record(store, alias, one)


def _answer(said: SaidOptions, day: str | None, exercise: str) -> "Answer":
    from formcheck.errors import UsageError
    from formcheck.records.answer_file import read_flags
    from formcheck.records.answers import SCALES, Answer

    flags, problems = read_flags(said.flag)
    if problems:
        raise UsageError(f"--flag {problems[0]}")
    values = {name: getattr(said, name) for name in (*SCALES, "stopped_by", "words")}
    if not flags and not any(value not in (None, "") for value in values.values()):
        raise UsageError("nothing was said: give at least one answer; see --help")
    return Answer(
        day=day_of(day) or date.today(),
        exercise=exercise,
        red_flags=flags,
        source="command",
        **values,
    )


def _record(store: "Store", alias: str, one: "Answer") -> None:
    """Record one answer, and say what follows from it."""
    from formcheck.records.answers import add_answer, answers_of
    from formcheck.records.clients import alias_of
    from formcheck.records.phases import most_pain_of
    from formcheck.words.stop import stop_lines
    from formcheck.words.words import words_for

    words, known = words_for("en"), alias_of(store, alias)
    fresh = add_answer(store, known, one)
    of_day = sum(other.day == one.day for other in answers_of(store, known))
    more = f" as answer {of_day} of that day; all of them count" if of_day > 1 else ""
    typer.echo(f"{known}, {one.day}: {f'recorded{more}' if fresh else 'was recorded before'}")
    lines = stop_lines(one, words, most_pain_of(store, known, one.day))
    for line in lines:
        typer.echo(line)
    if lines:
        typer.echo(words("stop.terminal_next", alias=known, typed=quote(known)))
