"""``formcheck demo``: an invented practice, to look at every page without a clip or a client."""

from pathlib import Path
from typing import Annotated

import typer

from formcheck.cli.options import day_of


def demo(
    out: Annotated[Path, typer.Option(help="Folder for the demo, which must be new.")],
    until: Annotated[
        str | None, typer.Option(help="Day after the eight weeks; today by default.")
    ] = None,
) -> None:
    """Make an invented practice: six clients of a rowing club over eight weeks, with every page.

    Nothing of it is real, and every page says so. It has a record of its own and leaves yours alone.

    Example: formcheck demo --out demo
    """
    from datetime import date

    from formcheck.demo.write import INDEX, write_demo

    write_demo(out, day_of(until, "--until") or date.today())
    typer.echo(f"{out / INDEX} is the first page; everything in it is invented.")
