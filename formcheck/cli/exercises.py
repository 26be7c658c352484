"""``formcheck exercises``: list, show and validate exercises."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from formcheck.exercises.schema import Exercise, Part
    from formcheck.filming.advice import ViewAdvice

_FROM_NOWHERE = "cannot be decided from any view"

app = typer.Typer(
    help="List, show and validate exercises.\n\nExample: formcheck exercises show scaption-raise",
    invoke_without_command=True,
)


@app.callback()
def exercises(context: typer.Context) -> None:
    """List, show and validate exercises. Example: formcheck exercises show scaption-raise"""
    if context.invoked_subcommand is None:
        list_exercises()


@app.command("list", short_help="List the library, as without any command.")
def list_exercises() -> None:
    """List the library. Example: formcheck exercises list"""
    from formcheck.exercises.library import library_names, load_exercise

    names = library_names()
    width = max(len(name) for name in names)
    for name in names:
        exercise = load_exercise(name)
        typer.echo(f"{name:{width}}  {exercise.movement:6}  {exercise.title}")


@app.command("show", short_help="Show an exercise: its movement, dose and checks.")
def show(
    name: Annotated[
        str, typer.Argument(help="Name from the library, or the path of a .toml file.")
    ],
) -> None:
    """Show an exercise: what is done, what is judged, within which limits and from which views.

    Example: formcheck exercises show belly-press
    """
    from formcheck.exercises.library import load_exercise
    from formcheck.filming.advice import view_advice

    exercise = load_exercise(name)
    views = view_advice(exercise)
    typer.echo(f"{exercise.title} ({exercise.name}, {exercise.movement})\n")
    typer.echo(f"{exercise.summary}\nStart: {exercise.start_position}\n")
    dose = exercise.dose
    each = " each direction" if dose.per_direction else ""
    held = f", held {dose.hold_s:g} s" if dose.hold_s else ""
    typer.echo(f"Dose: {dose.sets} x {dose.count}{each}{held} [{dose.source}]")
    typer.echo(f"Film from: {', '.join(exercise.filming.best)}. {exercise.filming.advice}\n")
    _show_checks("Checks:", exercise, views)
    for part in exercise.parts:
        _show_checks(f"Part {part.name}: {part.title} ({part.movement})", part, views)
    typer.echo("\nThe camera cannot judge; look yourself:")
    for point in exercise.look_yourself:
        typer.echo(f"  - {point}")
    typer.echo("\nCautions:")
    for caution in exercise.cautions:
        typer.echo(f"  - {caution}")


def _show_checks(heading: str, group: "Exercise | Part", views: "Sequence[ViewAdvice]") -> None:
    from formcheck.catalogue.measures import MEASURES

    if not group.checks:
        return
    typer.echo(heading)
    for check in group.checks:
        low = "" if check.low is None else f"{check.low:g}"
        high = "" if check.high is None else f"{check.high:g}"
        makes = "essential; " if check.essential else ""
        when = "" if check.statistic == "value" else f" ({check.statistic}, {check.phase})"
        typer.echo(
            f"  {check.id}: {check.measure}{when} {low}..{high} ±{check.tolerance:g} "
            f"{MEASURES[check.measure].unit_beside(MEASURES[group.primary.measure])} "
            f"[{makes}{check.importance}; {check.source}]"
        )
        deciding = [one.view for one in views if check in one.decided]
        told = f"can be decided from: {', '.join(deciding)}" if deciding else _FROM_NOWHERE
        typer.echo(f"    {told}")


@app.command("validate", short_help="Say whether an exercise or a programme is valid.")
def validate(
    file: Annotated[Path, typer.Argument(help="An exercise or programme file (.toml).")],
) -> None:
    """Say whether an exercise or a client's programme is valid, or everything that is wrong with it.

    Example: formcheck exercises validate my-raise.toml
    """
    from formcheck.exercises.library import validate_file
    from formcheck.exercises.programme import load_programme
    from formcheck.exercises.toml_file import read_toml
    from formcheck.filming.advice import decided_from_nowhere

    if {"client", "items", "phases"} & set(read_toml(file, str(file))):
        programme = load_programme(file)
        phases = programme.phases
        count = len({one.exercise.name for phase in phases for one in phase.prescriptions})
        what = f"{count} exercise{'' if count == 1 else 's'}"
        what += f" in {len(phases)} phases" if len(phases) > 1 else ""
        typer.echo(f"{file.name}: valid (programme of {programme.client}, {what})")
        for line in (*programme.warnings, *programme.advice):
            typer.echo(f"note: {line}", err=True)
        return
    exercise = validate_file(file)
    count = len(exercise.all_checks)
    checks = f"{count} check{'' if count == 1 else 's'}"
    typer.echo(f"{file.name}: valid ({exercise.name}, {checks})")
    for check in decided_from_nowhere(exercise):
        typer.echo(
            f'note: checks "{check.id}": no side to film from shows it well enough to decide it; '
            "widen its tolerance, or ask the coach to look (look_yourself)",
            err=True,
        )
