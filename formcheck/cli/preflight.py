"""``formcheck preflight``: is a clip filmed well enough?"""

from pathlib import Path
from typing import Annotated

import typer

from formcheck.cli.options import Mirrored, Speed


def preflight(
    clip: Annotated[Path, typer.Argument(help="A recorded clip.")],
    exercise: Annotated[
        str, typer.Option(help="Name from the library, or the path of an exercise file (.toml).")
    ],
    mirrored: Mirrored = False,
    speed: Speed = 1.0,
) -> None:
    """Say in a few seconds whether a clip is usable, or the one thing to change.

    Looks at two pictures a second. Exit code 0 if usable, 4 if it should be filmed again.

    Example: formcheck preflight set.mp4 --exercise scaption-raise
    """
    from formcheck.pipeline.preflight import preflight_clip
    from formcheck.words.words import words_for

    found = preflight_clip(clip, exercise, mirrored=mirrored, speed=speed)
    typer.echo(words_for("en").tell(found.message))
    raise typer.Exit(0 if found.usable else 4)
