"""One page written to a file of its own, whole or not at all."""

from pathlib import Path

import typer


def write_page(path: Path, content: bytes, *, share: bool = False) -> None:
    """Write it, for the user alone unless shared, and say so. Raises OutputError."""
    from formcheck.atomic_output import prepare_folder, refusal, whole_file

    prepare_folder(path.parent, share=share)
    try:
        with whole_file(path, share=share) as fresh:
            fresh.write_bytes(content)
    except OSError as error:
        raise refusal(path, error) from None
    typer.echo(f"{path.name} written")
