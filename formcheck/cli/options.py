"""Options shared by commands that look at a clip.

A command takes a group of them as one dataclass: ``grouped`` shows the parser an option for each
of its fields.
"""

from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from enum import StrEnum
from functools import wraps
from inspect import Parameter, Signature, signature
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer

if TYPE_CHECKING:
    from formcheck.pipeline.settings import Settings

T = TypeVar("T")


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


RecordOption = Annotated[
    Path | None,
    typer.Option(
        "--records", help="The record of clients; by default the one of this user.", metavar="FILE"
    ),
]
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


@dataclass(frozen=True, slots=True)
class LookOptions:
    """How a clip is analysed."""

    model: Annotated[
        ModelOption, typer.Option(help="Pose model: full to measure, lite for quick trials.")
    ] = ModelOption.FULL
    stature_cm: Annotated[
        float,
        typer.Option(help="The subject's height in cm; centimetre measures scale with it."),
    ] = 170.0
    mirrored: Mirrored = False
    speed: Speed = 1.0
    every_frame: Annotated[
        bool,
        typer.Option(
            "--every-frame",
            help="Analyse every frame, even while little moves: slower, for comparison.",
        ),
    ] = False
    person: Annotated[
        int | None,
        typer.Option(
            min=1,
            help="Who is meant, where several people move: 1 is the leftmost in the picture.",
        ),
    ] = None
    no_cache: Annotated[
        bool, typer.Option("--no-cache", help="Neither use nor store cached landmarks.")
    ] = False

    def settings(self) -> "Settings":
        """The same for the pipeline."""
        from formcheck.pipeline.settings import Settings

        _refuse_stature(self.stature_cm)
        return Settings(
            model=self.model.value,
            mirrored=self.mirrored,
            speed=self.speed,
            stature_m=self.stature_cm / 100,
            every_frame=self.every_frame,
            person=self.person,
            use_cache=not self.no_cache,
        )


@dataclass(frozen=True, slots=True)
class PageOptions:
    """How sheets are made, for one clip or many."""

    video: Annotated[
        bool, typer.Option("--video", help="Also write the annotated clip, with a player.")
    ] = False
    show_face: Annotated[
        bool, typer.Option("--show-face", help="Do not blur faces in pictures and clip.")
    ] = False
    locale: Annotated[
        str,
        typer.Option(
            "--locale",
            help="Language and region (en-GB, en-ZA, de-CH) whose dates, decimal marks and paper "
            "the sheets use. The words are English; with de the client's page is a German draft.",
        ),
    ] = "en"
    no_pdf: Annotated[bool, typer.Option("--no-pdf", help="Leave out the PDF sheets.")] = False
    paper: Annotated[PaperOption | None, typer.Option(help="Paper of the PDF sheets.")] = None
    fhir: Annotated[bool, typer.Option("--fhir", help="Also write HL7 FHIR R4 observations.")] = (
        False
    )
    share: Annotated[
        bool,
        typer.Option(
            "--share",
            help="Give new results the usual permissions; otherwise only you may read them.",
        ),
    ] = False

    def chosen(self) -> dict[str, Any]:
        """The same in the words of ``SheetOptions``."""
        return {
            "video": self.video,
            "show_face": self.show_face,
            "locale": self.locale,
            "pdf": not self.no_pdf,
            "paper": self.paper.value if self.paper else None,
            "fhir": self.fhir,
            "share": self.share,
        }


def _refuse_stature(given: float) -> None:
    """Raise UsageError unless it is the height of somebody, in cm."""
    from formcheck.errors import UsageError
    from formcheck.pipeline.settings import refuse_stature

    try:
        refuse_stature(given)
    except UsageError as error:
        raise UsageError(f"--stature-cm: {error}") from None


def grouped(command: Callable[..., T]) -> Callable[..., T]:
    """The command with an option for each field of the dataclasses that it takes."""
    groups: dict[str, Any] = {}
    options: list[Parameter] = []
    for parameter in signature(command).parameters.values():
        if is_dataclass(parameter.annotation):
            groups[parameter.name] = parameter.annotation
            options += [
                Parameter(f.name, Parameter.KEYWORD_ONLY, default=f.default, annotation=f.type)
                for f in fields(parameter.annotation)
            ]
        else:
            options.append(parameter.replace(kind=Parameter.KEYWORD_ONLY))

    @wraps(command)
    def called(**given: object) -> T:
        for name, group in groups.items():
            given[name] = group(**{field.name: given.pop(field.name) for field in fields(group)})
        return command(**given)

    called.__signature__ = Signature(options)  # type: ignore[attr-defined]
    called.__annotations__ = {option.name: option.annotation for option in options}
    return called


def day_of(text: str | None, option: str = "--date") -> date | None:
    """The day that was given with an option, if any. Raises UsageError if it is none."""
    from formcheck.errors import UsageError

    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise UsageError(f"{option}: '{text}' is not a day; write it as 2026-03-31.") from error
