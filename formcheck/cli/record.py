"""``formcheck record``: results into the record of clients."""

from collections import Counter
from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from formcheck.cli.options import RecordOption, day_of


def record(
    folders: Annotated[
        list[Path], typer.Argument(help="Folders that check or batch wrote.", metavar="DIR")
    ],
    client: Annotated[
        str | None, typer.Option(help="Alias of the client, for results that do not name one.")
    ] = None,
    made_on: Annotated[
        str | None,
        typer.Option(
            "--date", help="Day of the recording, for results that do not say: 2026-03-31."
        ),
    ] = None,
    load: Annotated[
        str, typer.Option(help="What was held or pulled, such as '2 kg' or 'red band'.")
    ] = "",
    filmed_again: Annotated[
        bool,
        typer.Option(
            "--filmed-again",
            help="These sets were filmed again on the same day, the camera put up anew, to see how "
            "far results repeat.",
        ),
    ] = False,
    records: RecordOption = None,
) -> None:
    """Record results for their clients, each once however often this is run.

    Exit code 0 if all are recorded, 3 if some were left out, with the reason.

    Example: formcheck record results

    Example: formcheck record sheets/monday --client heron --date 2026-03-31 --load '2 kg'
    """
    from formcheck.cli.terminal import moved_line
    from formcheck.records.recording import record_folder
    from formcheck.records.store import open_store
    from formcheck.text import strip_control

    record_one = partial(
        record_folder, alias=client, day=day_of(made_on), load=load, filmed_again=filmed_again
    )
    times: Counter[str] = Counter()
    with open_store(records) as store:
        for folder in folders:
            for one in record_one(store, folder):
                times[one.done or "left out"] += 1
                if one.done is None:
                    typer.echo(strip_control(f"left out: {one.folder}: {one.why}"), err=True)
                if line := moved_line(one):
                    typer.echo(line)
    told = ("added", "replaced", "known", "left out")
    typer.echo(", ".join(f"{times[name]} {name}" for name in told if times[name]))
    raise typer.Exit(3 if times["left out"] else 0)
