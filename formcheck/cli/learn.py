"""``formcheck learn``: a coach's demonstration in, an exercise file out."""

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from formcheck.cli.options import LookOptions, grouped

if TYPE_CHECKING:
    from formcheck.measures.table import MeasureTable
    from formcheck.pipeline.settings import Settings


@grouped
def learn(
    clip: Annotated[Path, typer.Argument(help="A clip of the exercise done correctly.")],
    name: Annotated[
        str, typer.Option(help="Name of the exercise: lower-case letters, digits and hyphens.")
    ],
    out: Annotated[Path, typer.Option(help="The exercise file (.toml) to write.")],
    like: Annotated[
        str | None,
        typer.Option(help="Exercise that this one differs from; gives movement, checks and words."),
    ] = None,
    wrong: Annotated[
        Path | None, typer.Option(help="A clip of the mistake, to find what tells the two apart.")
    ] = None,
    look: LookOptions = LookOptions(),
) -> None:
    """Learn an exercise from a demonstration and write its file and a page to look through.

    Writes OUT and, beside it, NAME.html with what was learned. Film three or more repetitions done
    right, from where clients will film, with two quiet seconds at the start.

    Example: formcheck learn right.mp4 --name high-reach --wrong mistake.mp4 --out high-reach.toml
    """
    from formcheck.atomic_output import prepare_folder
    from formcheck.exercises.library import load_exercise
    from formcheck.learn.exercise_file import exercise_file
    from formcheck.learn.learn import learn as learn_from
    from formcheck.sheets.pages.learned import left_out, verdict
    from formcheck.sheets.render.learned import learned_html
    from formcheck.words.words import words_for

    page = out.with_name(f"{name}.html")
    _refuse(name, out, page)
    base = load_exercise(like) if like else None
    prepare_folder(out.parent)
    settings = look.settings()
    lesson = learn_from(
        _measured(clip, settings),
        name,
        like=base,
        wrong=_measured(wrong, settings) if wrong else None,
        like_name=_from_folder(like, out.parent),
    )
    text, words = exercise_file(lesson), words_for("en")
    _write(out, text, page, learned_html(lesson, file=out, text=text, words=words))
    typer.echo(verdict(lesson, words))
    if unsupported := left_out(lesson, words):
        typer.echo(unsupported)
    typer.echo(f"{out.name}: {len(lesson.exercise.checks)} checks; look through {page.name}")


def _from_folder(like: str | None, folder: Path) -> str | None:
    """A path as the new file, which lies in ``folder``, must name it; a library name as it is."""
    import os

    if like is None or not like.endswith(".toml"):
        return like
    return Path(os.path.relpath(like, folder)).as_posix()


def _measured(clip: Path, settings: "Settings") -> "MeasureTable":
    from formcheck.cli.terminal import progress_bar
    from formcheck.errors import UnusableClipError
    from formcheck.pipeline.landmarks import measure_clip
    from formcheck.words.words import words_for

    with progress_bar(clip.name) as on_progress:
        measured = measure_clip(clip, settings, on_progress)
    if fatal := measured.fatal_problem:
        why = words_for("en").tell(fatal.message)
        raise UnusableClipError(f"{clip.name} cannot be learned from: {why}")
    return measured.table


def _refuse(name: str, out: Path, page: Path) -> None:
    """Everything that can be known to be wrong before the clip is looked at."""
    from formcheck.errors import ExerciseError, OutputError
    from formcheck.exercises.library import SUFFIX, library_names

    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name):
        raise ExerciseError(
            f'--name "{name}": use lower-case letters and digits with hyphens between them, as in high-reach'
        )
    if name in library_names():
        raise ExerciseError(f'--name "{name}": the library has this exercise; choose another name')
    if out.suffix != SUFFIX:
        raise OutputError(f"--out {out}: an exercise file must end in {SUFFIX}")
    for path in (out, page):
        if path.exists():
            raise OutputError(
                f"{path} is already there, perhaps with changes of yours; "
                "nothing was written. Choose another name, or move it away."
            )


def _write(file: Path, text: str, page: Path, html: str) -> None:
    """Both files or neither, the page first; then the exercise is read back."""
    from formcheck.atomic_output import refusal, whole_file
    from formcheck.exercises.library import validate_file

    try:
        with whole_file(file) as exercise_draft, whole_file(page) as page_draft:
            exercise_draft.write_text(text, encoding="utf-8")
            page_draft.write_text(html, encoding="utf-8")
    except OSError as error:
        raise refusal(file, error) from None
    validate_file(file)
