"""``formcheck client export`` and ``forget``: what a client may ask for."""

import sys
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING, Annotated

import typer

from formcheck.cli.options import RecordOption

if TYPE_CHECKING:
    from collections.abc import Sequence

    from formcheck.records.rights import Traces

Alias = Annotated[str, typer.Argument(help="The client's alias.", metavar="ALIAS")]


def export(
    alias: Alias,
    out: Annotated[Path, typer.Option(help="The file to write; must end in .zip.")],
    records: RecordOption = None,
) -> None:
    """Write everything that is kept of a client as one file: JSON, CSV, and the sheets.

    Example: formcheck client export heron --out heron.zip
    """
    from formcheck.atomic_output import prepare_folder, refusal
    from formcheck.errors import UsageError
    from formcheck.records.rights import export_client
    from formcheck.records.store import open_store

    if out.suffix.lower() != ".zip":
        raise UsageError(f"--out {out}: must end in .zip")
    prepare_folder(out.parent)
    with open_store(records) as store:
        try:
            export_client(store, alias, out)
        except OSError as error:
            raise refusal(out, error) from None
    typer.echo(f"{out.name} written")


def forget(
    alias: Alias,
    confirmed: Annotated[
        str | None,
        typer.Option("--confirm", help="The alias again, instead of typing it when asked."),
    ] = None,
    records: RecordOption = None,
) -> None:
    """Remove everything that is kept of a client, and search for the alias in what is left.

    Lists what would go and asks for the alias first. The clips themselves are not touched. Exit code 0
    if the alias is found nowhere any more, 3 if it is.

    Example: formcheck client forget heron
    """
    from formcheck.errors import UsageError
    from formcheck.records.rights import forget_client, traces_of
    from formcheck.records.store import open_store

    with open_store(records) as store:
        traces = traces_of(store, alias)
        typer.echo(f"kept of {alias}, and would be removed:")
        _list(traces)
        if confirmed is None and sys.stdin.isatty():
            confirmed = typer.prompt("Type the alias to remove all of this")
        if confirmed is None:
            raise UsageError(
                f"nothing was removed; to remove all of this, add --confirm {quote(alias)}"
            )
        if confirmed.casefold() != alias.casefold():
            raise UsageError("nothing was removed: what was given to confirm it is not the alias")
        left = forget_client(store, alias)
    left += _in_results(traces.folders, alias)
    for path in left:
        typer.echo(f"still names {alias}: {path}", err=True)
    if left:
        raise typer.Exit(3)
    typer.echo(
        f"{alias} is forgotten: all of that was removed, and the alias is nowhere in what is left of the "
        "record and beside the result folders. Pages and exports that you wrote elsewhere, and clips, are "
        "not known to the record: look for them yourself."
    )


def _in_results(folders: "Sequence[Path]", alias: str) -> list[Path]:
    """The files of result folders' neighbours that still name a client; batches are loaded for none."""
    if not folders:
        return []
    from formcheck.batch.forget import forget_in_results

    outs = dict.fromkeys(folder.parent for folder in folders)
    return [path for out in outs for path in forget_in_results(out, alias)]


def _list(traces: "Traces") -> None:
    for name, count in traces.rows.items():
        typer.echo(f"{count} in {name}")
    for path in (*traces.folders, *traces.landmarks, *traces.backups):
        typer.echo(str(path))
