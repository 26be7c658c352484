"""Options shared by commands that look at a clip."""

from datetime import date
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
Model = Annotated[
    ModelOption, typer.Option(help="Pose model: full to measure, lite for quick trials.")
]
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
MadeOn = Annotated[
    str | None, typer.Option("--date", help="Day of the recording, for the sheets: 2026-03-31.")
]
LocaleOption = Annotated[
    str,
    typer.Option(
        "--locale",
        help="Language and region (en-GB, en-ZA, de-CH) whose dates, decimal marks and paper the "
        "sheets use; the words are English.",
    ),
]
NoPdf = Annotated[bool, typer.Option("--no-pdf", help="Leave out the PDF sheets.")]
Paper = Annotated[PaperOption | None, typer.Option(help="Paper of the PDF sheets.")]
Video = Annotated[
    bool, typer.Option("--video", help="Also write the annotated clip, with a player.")
]
ShowFace = Annotated[
    bool, typer.Option("--show-face", help="Do not blur faces in pictures and clip.")
]
Fhir = Annotated[bool, typer.Option("--fhir", help="Also write HL7 FHIR R4 observations.")]


def day_of(text: str | None) -> date | None:
    """The day that was given, if any. Raises UsageError if it is none."""
    from formcheck.errors import UsageError

    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise UsageError(f"--date: '{text}' is not a day; write it as 2026-03-31.") from error
