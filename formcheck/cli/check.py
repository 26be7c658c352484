"""``formcheck check``: clips in, feedback sheets out."""

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from formcheck.cli.choose import choices, settle
from formcheck.cli.options import (
    EveryFrame,
    Fhir,
    LocaleOption,
    MadeOn,
    Mirrored,
    Model,
    ModelOption,
    NoCache,
    NoPdf,
    Paper,
    ShowFace,
    SideOption,
    Speed,
    StatureCm,
    Video,
    day_of,
)

if TYPE_CHECKING:
    from formcheck.checks.result import ClipResult
    from formcheck.pipeline.check import Checked
    from formcheck.pipeline.selection import Choice
    from formcheck.pipeline.settings import Settings
    from formcheck.sheets.write import SheetOptions


@dataclass(frozen=True, slots=True)
class _Job:
    options: "Sequence[Choice]"
    settings: "Settings"
    sheets: "SheetOptions"
    out: Path


def check(
    clips: Annotated[list[Path], typer.Argument(help="Recorded clips.", metavar="CLIP...")],
    out: Annotated[Path, typer.Option(help="Folder for the results, one folder a clip.")],
    exercise: Annotated[
        str | None,
        typer.Option(
            help="Name from the library, or the path of an exercise file (.toml). "
            "Left out, it is recognised in the clip."
        ),
    ] = None,
    side: Annotated[
        SideOption | None,
        typer.Option(help="The side that works; found from the clip if left out."),
    ] = None,
    programme: Annotated[
        Path | None,
        typer.Option(help="A client's programme (.toml): exercise, side, dose and limits."),
    ] = None,
    model: Model = ModelOption.FULL,
    stature_cm: StatureCm = 170.0,
    mirrored: Mirrored = False,
    speed: Speed = 1.0,
    every_frame: EveryFrame = False,
    no_cache: NoCache = False,
    video: Video = False,
    single_file: Annotated[
        bool, typer.Option("--single-file", help="Put the annotated clip into the pages.")
    ] = False,
    show_face: ShowFace = False,
    keep_sound: Annotated[
        bool, typer.Option("--keep-sound", help="Leave the annotated clip its sound.")
    ] = False,
    made_on: MadeOn = None,
    note: Annotated[
        Path | None,
        typer.Option(
            help="Plain text shown as the coach's note on the coach's sheet, not the client's."
        ),
    ] = None,
    locale: LocaleOption = "en",
    no_pdf: NoPdf = False,
    paper: Paper = None,
    fhir: Fhir = False,
) -> None:
    """Check clips against an exercise and write a feedback sheet for each.

    Writes OUT/<clip name>/result.json, sheet.html and coach.html, both as PDF, measures.csv and
    reps.csv, whole or not at all.

    Example: formcheck check set.mp4 --exercise scaption-raise --side right --out sheets

    Example: formcheck check monday/*.mp4 --programme heron.toml --out monday-sheets
    """
    from formcheck.exercises.programme import load_programme
    from formcheck.pipeline.settings import Settings
    from formcheck.sheets.write import SheetOptions, prepare_folder, read_note, refuse_options

    plan = load_programme(programme) if programme else None
    for line in plan.advice if plan else ():
        typer.echo(f"note: {line}", err=True)
    job = _Job(
        options=choices(exercise, side.value if side else None, plan),
        settings=Settings(
            model=model.value,
            mirrored=mirrored,
            speed=speed,
            stature_m=stature_cm / 100,
            every_frame=every_frame,
            use_cache=not no_cache,
        ),
        sheets=SheetOptions(
            mirrored=mirrored,
            speed=speed,
            alias=plan.client if plan else "",
            made_on=day_of(made_on),
            locale=locale,
            note=read_note(note) if note else (),
            video=video or single_file,
            single_file=single_file,
            keep_sound=keep_sound,
            pdf=not no_pdf,
            show_face=show_face,
            paper=paper.value if paper else None,
            fhir=fhir,
        ),
        out=out,
    )
    refuse_options(job.sheets)
    _refuse_same_names(clips)
    _refuse_one_note_for_many(clips, note)
    prepare_folder(out)
    raise typer.Exit(_check_all(clips, job))


def _check_all(clips: Sequence[Path], job: _Job) -> int:
    """Check every clip and give the worst exit code: one bad clip never stops the others."""
    from formcheck.cli.terminal import print_programme
    from formcheck.errors import FormcheckError, UnrecognisedError

    worst, results = 0, []
    for clip in clips:
        try:
            results.append(_check_one(clip, job))
            worst = max(worst, 0 if results[-1].usable else 4)
        except FormcheckError as error:
            # Set-up errors would hit every clip.
            if error.exit_code == 2 and not isinstance(error, UnrecognisedError):
                raise
            print(f"formcheck: {error}", file=sys.stderr)
            worst = max(worst, error.exit_code)
    print_programme([one.prescription for one in job.options if one.prescription], results)
    return worst


def _check_one(clip: Path, job: _Job) -> "ClipResult":
    from formcheck.cli.terminal import print_result
    from formcheck.sheets.write import write_sheets

    checked = _checked(clip, job)
    write_sheets(
        checked.result,
        checked.exercise,
        table=checked.table,
        track=checked.track,
        clip_path=clip,
        out_dir=job.out / clip.stem,
        options=job.sheets,
    )
    print_result(checked.result)
    return checked.result


def _checked(clip: Path, job: _Job) -> "Checked":
    from formcheck.cli.terminal import progress_bar
    from formcheck.pipeline.check import cannot_judge, check_measured
    from formcheck.pipeline.landmarks import measure_clip

    with progress_bar(clip.name) as on_progress:
        tracked, table = measure_clip(clip, job.settings, on_progress)
    unusable = any(problem.fatal for problem in (*tracked.problems, *table.problems))
    if unusable and len(job.options) > 1:
        return cannot_judge(tracked, table, settings=job.settings)
    chosen = settle(job.options, table, clip.name)
    return check_measured(
        tracked,
        table,
        chosen.exercise,
        side=chosen.side,
        settings=job.settings,
        prescription=chosen.prescription,
    )


def _refuse_one_note_for_many(clips: Sequence[Path], note: Path | None) -> None:
    from formcheck.errors import UsageError

    if note and len(clips) > 1:
        raise UsageError(
            f"--note is about one clip, and {len(clips)} were given; check that clip by itself."
        )


def _refuse_same_names(clips: list[Path]) -> None:
    """Two clips of one name would write into one folder."""
    from formcheck.errors import UsageError

    seen: dict[str, Path] = {}
    for clip in clips:
        if clip.stem in seen:
            raise UsageError(
                f"{seen[clip.stem].name} and {clip.name} would both write to the folder "
                f"'{clip.stem}'; rename one of them or check them with different --out folders."
            )
        seen[clip.stem] = clip
