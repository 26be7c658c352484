"""One page written to a file of its own, whole or not at all."""

from pathlib import Path

import typer


def write_page(path: Path, content: bytes, *, share: bool = False) -> None:
    """Write it, for the user alone unless shared, and say so. Raises OutputError."""
    from formcheck.atomic_output import prepare_folder, whole_file
    from formcheck.errors import OutputError

    prepare_folder(path.parent, share=share)
    try:
        with whole_file(path, share=share) as fresh:
            fresh.write_bytes(content)
    except OSError as error:
        raise OutputError(f"{path} cannot be written: {error.strerror or error}") from None
    typer.echo(f"{path.name} written")
