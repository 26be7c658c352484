"""The command tree."""

from typing import Annotated

import typer

from formcheck.cli import (
    answer,
    batch,
    check,
    client,
    demo,
    doctor,
    exercises,
    filming,
    learn,
    measures,
    packet,
    preflight,
    record,
    weeks,
)
from formcheck.version import __version__

app = typer.Typer(
    name="formcheck",
    help=(
        "Measure recorded exercise clips and write rep-by-rep feedback sheets.\n\n"
        "Exit codes: 0 analysed, whatever the verdicts; 1 an error of formcheck itself; 2 wrong use "
        "or set-up; 3 a clip could not be read or checked; 4 a clip was read but cannot be judged; "
        "128 + n stopped by signal n.\n\n"
        "Example: formcheck check set.mp4 --exercise scaption-raise --out sheets"
    ),
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,  # boxes around the help would take as long as all the rest of it
)
app.command(short_help="Check clips and write a feedback sheet for each.")(check.check)
app.command(short_help="Check many clips, with a summary of who needs a look.")(batch.batch)
app.command(short_help="Write every measure of a clip over time as a table.")(measures.measures)
app.command(short_help="Check that this installation is whole.")(doctor.doctor)
app.command(short_help="Say how to film an exercise.")(filming.filming)
app.command(short_help="Say whether a clip is filmed well enough.")(preflight.preflight)
app.command(short_help="Learn an exercise from a demonstration.")(learn.learn)
app.command(short_help="Write a client's exercises of the week as a page.")(packet.packet)
app.add_typer(exercises.app, name="exercises")
app.add_typer(client.app, name="client")
app.command(short_help="Make an invented practice to look at.")(demo.demo)
app.command(short_help="Record what a client says.")(answer.answer)
app.command(short_help="Record results for their clients.")(record.record)
app.command(short_help="Write a client's weeks as pages.")(weeks.progress)
app.command(short_help="Say what is met of what comes before the next phase.")(weeks.ready)


def _version(show: bool) -> None:
    if show:
        print(f"formcheck {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """Measure recorded exercise clips and write rep-by-rep feedback sheets."""
