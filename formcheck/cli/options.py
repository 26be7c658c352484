"""Options shared by commands that look at a clip."""

from enum import StrEnum
from typing import Annotated

import typer


class SideOption(StrEnum):
    """The subject's own side."""

    LEFT = "left"
    RIGHT = "right"
    BOTH = "both"


class PaperOption(StrEnum):
    """Paper sizes of the printed sheets."""

    A4 = "a4"
    LETTER = "us-letter"


class ModelOption(StrEnum):
    """The pose models."""

    LITE = "lite"
    FULL = "full"
    HEAVY = "heavy"


Mirrored = Annotated[
    bool, typer.Option("--mirrored", help="The recording shows a mirror image (selfie camera).")
]
Speed = Annotated[
    float,
    typer.Option(
        min=0.05,
        max=20,
        help="Speed at which the clip plays: 0.25 for a slow-motion export at quarter speed.",
    ),
]
Model = Annotated[ModelOption, typer.Option(help="Pose model: lite is quicker, heavy slower.")]
StatureCm = Annotated[
    float,
    typer.Option(
        min=80, max=230, help="The subject's height in cm; centimetre measures scale with it."
    ),
]
NoCache = Annotated[
    bool, typer.Option("--no-cache", help="Neither read nor keep landmarks of this clip.")
]
EveryFrame = Annotated[
    bool,
    typer.Option(
        "--every-frame",
        help="Analyse every picture, also where little moves: slower, for comparison.",
    ),
]
