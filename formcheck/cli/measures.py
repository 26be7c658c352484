"""``formcheck measures``: the measures of a clip as a table, no exercise needed."""

from pathlib import Path
from typing import Annotated

import typer

from formcheck.cli.options import LookOptions, grouped


@grouped
def measures(
    clip: Annotated[Path, typer.Argument(help="A recorded clip.")],
    out: Annotated[Path, typer.Option(help="The table to write; must end in .csv.")],
    look: LookOptions = LookOptions(),
) -> None:
    """Measure a clip and write every measure over time with its standard uncertainty.

    One row a time; blank where a measure cannot be known. X_sd is the standard uncertainty of X.

    Example: formcheck measures set.mp4 --out set.csv
    """
    from formcheck.atomic_output import prepare_folder, refuse_table, whole_table
    from formcheck.cli.terminal import progress_bar
    from formcheck.errors import UnusableClipError
    from formcheck.pipeline.landmarks import measure_clip
    from formcheck.sheets.export.csv_tables import write_measures_csv
    from formcheck.words.words import words_for

    refuse_table(out)
    prepare_folder(out.parent)
    with progress_bar(clip.name) as on_progress:
        measured = measure_clip(clip, look.settings(), on_progress)
    words = words_for("en")
    for problem in (problem for problem in measured.problems if not problem.fatal):
        typer.echo(f"note: {words.tell(problem.message)}", err=True)
    if fatal := measured.fatal_problem:
        raise UnusableClipError(f"{clip.name} cannot be measured: {words.tell(fatal.message)}")
    table = measured.table
    with whole_table(out) as file:
        write_measures_csv(table, file)
    typer.echo(f"{out.name}: {len(table.time_s)} times, view {table.view.name}")
