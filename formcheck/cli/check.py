"""``formcheck check``: clips in, feedback sheets out."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from formcheck.cli.options import (
    Mirrored,
    Model,
    ModelOption,
    NoCache,
    SideOption,
    Speed,
    StatureCm,
)


def check(
    clips: Annotated[list[Path], typer.Argument(help="Recorded clips.", metavar="CLIP...")],
    exercise: Annotated[
        str, typer.Option(help="Name from the library, or the path of an exercise file (.toml).")
    ],
    out: Annotated[Path, typer.Option(help="Folder for the results, one folder a clip.")],
    side: Annotated[
        SideOption | None,
        typer.Option(help="The side that works; found from the clip if left out."),
    ] = None,
    model: Model = ModelOption.FULL,
    stature_cm: StatureCm = 170.0,
    mirrored: Mirrored = False,
    speed: Speed = 1.0,
    no_cache: NoCache = False,
) -> None:
    """Check clips against an exercise and write a feedback sheet for each.

    Writes OUT/<clip name>/result.json, sheet.html, measures.csv and reps.csv, whole or not at all.

    Example: formcheck check set.mp4 --exercise scaption-raise --side right --out sheets
    """
    from formcheck.cli.terminal import print_result, progress_bar
    from formcheck.errors import FormcheckError
    from formcheck.exercises.library import load_exercise
    from formcheck.pipeline import Settings, check_clip
    from formcheck.sheets.write import SheetOptions, prepare_folder, write_sheets

    chosen = load_exercise(exercise)
    _refuse_same_names(clips)
    prepare_folder(out)
    settings = Settings(
        model=model.value,
        mirrored=mirrored,
        speed=speed,
        stature_m=stature_cm / 100,
        use_cache=not no_cache,
    )
    worst = 0
    for clip in clips:
        try:
            with progress_bar(clip.name) as on_progress:
                checked = check_clip(
                    clip,
                    chosen,
                    side=side.value if side else None,
                    settings=settings,
                    on_progress=on_progress,
                )
            write_sheets(
                checked.result,
                chosen,
                table=checked.table,
                track=checked.track,
                clip_path=clip,
                out_dir=out / clip.stem,
                options=SheetOptions(mirrored=mirrored, speed=speed),
            )
            print_result(checked.result)
            worst = max(worst, 0 if checked.result.usable else 4)
        except FormcheckError as error:
            # One bad clip never stops the others; set-up errors would hit every clip.
            if error.exit_code == 2:
                raise
            print(f"formcheck: {error}", file=sys.stderr)
            worst = max(worst, error.exit_code)
    raise typer.Exit(worst)


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
