"""``formcheck preflight``: is a clip filmed well enough?"""

from pathlib import Path
from typing import Annotated

import typer

from formcheck.cli.options import LookOptions, grouped


@grouped
def preflight(
    clip: Annotated[Path, typer.Argument(help="A recorded clip.")],
    exercise: Annotated[
        str, typer.Option(help="Name from the library, or the path of an exercise file (.toml).")
    ],
    look: LookOptions = LookOptions(),
) -> None:
    """Say whether a clip is usable, or the one thing to change.

    Looks at it as check does, and a check after it takes only seconds. Exit code 0 if usable, 4 if
    it should be filmed again.

    Example: formcheck preflight set.mp4 --exercise scaption-raise
    """
    from formcheck.cli.terminal import progress_bar
    from formcheck.pipeline.preflight import preflight_clip
    from formcheck.words.words import words_for

    with progress_bar(clip.name) as on_progress:
        found = preflight_clip(clip, exercise, settings=look.settings(), on_progress=on_progress)
    words = words_for("en")
    typer.echo("\n".join(words.tell(message) for message in found.messages))
    raise typer.Exit(0 if found.usable else 4)
