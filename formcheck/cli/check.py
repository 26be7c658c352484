"""``formcheck check``: clips in, feedback sheets out."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from formcheck.cli.options import (
    LookOptions,
    PageOptions,
    RecordOption,
    SideOption,
    day_of,
    grouped,
)

if TYPE_CHECKING:
    from formcheck.checks.result import ClipResult
    from formcheck.pipeline.check import Checked
    from formcheck.pipeline.selection import Candidate
    from formcheck.pipeline.settings import Settings
    from formcheck.sheets.options import SheetOptions


@dataclass(frozen=True, slots=True)
class _Job:
    candidates: "Sequence[Candidate]"
    settings: "Settings"
    sheets: "SheetOptions"
    out: Path
    together: bool = False
    in_turn: bool = False


@grouped
def check(
    clips: Annotated[list[Path], typer.Argument(help="Recorded clips.", metavar="CLIP")],
    out: Annotated[Path, typer.Option(help="Folder for the results, one folder per clip.")],
    exercise: Annotated[
        str | None,
        typer.Option(
            help="Name from the library, or the path of an exercise file (.toml). "
            "Without it, the exercise is recognised in the clip."
        ),
    ] = None,
    side: Annotated[
        SideOption | None,
        typer.Option(help="The side that is exercised; by default found from the clip."),
    ] = None,
    programme: Annotated[
        Path | None,
        typer.Option(help="A client's programme (.toml): exercise, side, dose and limits."),
    ] = None,
    phase: Annotated[
        str | None, typer.Option(help="Which phase of the programme, if it has several.")
    ] = None,
    client: Annotated[
        str | None,
        typer.Option(
            help="Alias of a client in the record: judged by what is prescribed there for --date, "
            "and always within the client's limits."
        ),
    ] = None,
    records: RecordOption = None,
    together: Annotated[
        bool,
        typer.Option(
            "--together",
            help="Two clips show one set, filmed by two phones at the same time: one sheet from both.",
        ),
    ] = False,
    in_turn: Annotated[
        bool,
        typer.Option(
            "--in-turn",
            help="Two clips show one exercise from two directions, filmed one after the other: "
            "each check is judged in the clip that shows it better.",
        ),
    ] = False,
    look: LookOptions = LookOptions(),
    pages: PageOptions = PageOptions(),
    single_file: Annotated[
        bool, typer.Option("--single-file", help="Embed the annotated clip in the pages.")
    ] = False,
    keep_sound: Annotated[
        bool, typer.Option("--keep-sound", help="Keep the sound of the annotated clip.")
    ] = False,
    made_on: Annotated[
        str | None, typer.Option("--date", help="Day of the recording: 2026-03-31.")
    ] = None,
    answers: Annotated[
        Path | None,
        typer.Option(help="What the client said of the session: a file that the form saved."),
    ] = None,
    note: Annotated[
        Path | None,
        typer.Option(
            help="Plain text shown as the coach's note on the coach's sheet, not the client's."
        ),
    ] = None,
    record: Annotated[bool, typer.Option("--record", hidden=True)] = False,
) -> None:
    """Check clips against an exercise and write a feedback sheet for each.

    Writes OUT/<clip name>/result.json, sheet.html and coach.html, both as PDF, measures.csv and
    reps.csv, whole or not at all. Another clip of the same name gets a short code after it.

    Example: formcheck check set.mp4 --exercise scaption-raise --side right --out sheets

    Example: formcheck check monday/*.mp4 --programme heron.toml --out monday-sheets

    Example: formcheck check set.mp4 --client heron --date 2026-03-31 --out sheets

    Example: formcheck check front.mp4 side.mp4 --together --exercise scaption-raise --out sheets
    """
    from formcheck.atomic_output import prepare_folder
    from formcheck.cli.basis import Asked, basis_of
    from formcheck.cli.streams import print_error
    from formcheck.errors import UsageError
    from formcheck.records.answer_file import read_answer_file
    from formcheck.result_folder import recover_results
    from formcheck.sheets.options import SheetOptions, validate_options
    from formcheck.sheets.pages.note import read_note

    if record:
        raise UsageError(
            f"check writes results and records none; run it without --record, then: "
            f"formcheck record {out}"
        )
    day = day_of(made_on)
    asked = Asked(exercise, side.value if side else None, programme, phase, client, records, day)
    basis = basis_of(asked)
    for line in basis.notes:
        print_error(f"note: {line}")
    options = SheetOptions(
        **pages.chosen() | {"video": pages.video or single_file},
        alias=basis.alias,
        made_on=day,
        note=read_note(note) if note else (),
        single_file=single_file,
        keep_sound=keep_sound,
        answer=read_answer_file(answers)[1] if answers else None,
        most_pain=basis.most_pain,
    )
    job = _Job(basis.candidates, look.settings(), options, out, together, in_turn)
    validate_options(job.sheets, job.settings)
    _refuse_one_note_for_many(clips, note)
    _refuse_other_than_two(clips, job)
    prepare_folder(out, share=pages.share)
    recover_results(out)
    raise typer.Exit(_check_all(clips, job))


def _check_all(clips: Sequence[Path], job: _Job) -> int:
    """Check every clip and give the worst exit code: one bad clip never stops the others."""
    from formcheck.cli.crash import crash_line
    from formcheck.cli.streams import print_error
    from formcheck.cli.terminal import print_programme
    from formcheck.errors import ClipError, FormcheckError, ModelError

    worst, results = 0, []
    groups = [tuple(clips)] if job.together or job.in_turn else [(clip,) for clip in clips]
    for group in groups:
        name = " + ".join(clip.name for clip in group)
        try:
            for result in _check_group(group, job):
                results.append(result)
                worst = max(worst, _exit_code(result))
        except ModelError:  # would hit every clip
            raise
        except FormcheckError as error:
            print_error(str(error))
            worst = max(worst, error.exit_code)
        except Exception as error:  # whatever a clip brings to light
            print_error(f"{name}: {crash_line(error)}")
            worst = max(worst, ClipError.exit_code)
    print_programme([one.prescription for one in job.candidates if one.prescription], results)
    return worst


def _exit_code(result: "ClipResult") -> int:
    """4 where nothing was judged: the clip does not allow it, or clearly shows another exercise."""
    return 0 if result.usable and result.another_exercise is None else 4


def _check_group(group: tuple[Path, ...], job: _Job) -> "Iterator[ClipResult]":
    """Check a clip, or two of one set, and write the sheets of each result."""
    from formcheck.cli.terminal import print_result
    from formcheck.result_folder import safe_name

    for checked in _checked(group, job):
        second = checked.second
        both = f"{checked.clip.stem}-with-{second.clip.stem}" if second else checked.clip.stem
        name = safe_name(both)
        folder = _write(checked, name, job)
        print_result(checked.result)
        if folder.name != name:
            typer.echo(f"note: {job.out / name} is taken; this result is in {folder}", err=True)
        yield checked.result


def _write(checked: "Checked", name: str, job: _Job) -> Path:
    """Write the sheets; the folder that they are in."""
    from formcheck.errors import OutputError
    from formcheck.result_folder import result_folder
    from formcheck.sheets.write import write_sheets

    def place() -> Path:
        return result_folder(job.out, name, checked.result.clip.sha256)

    folder = place()
    while True:
        try:
            write_sheets(checked, folder, job.sheets)
            return folder
        except OutputError:
            if (other := place()) == folder:
                raise
            folder = other  # another run has taken the name meanwhile


def _checked(group: tuple[Path, ...], job: _Job) -> "tuple[Checked, ...]":
    """The clips checked, as what somebody at the terminal says they are where that is open."""
    from formcheck.cli.confirm import confirm_on_terminal, looks_like
    from formcheck.cli.terminal import progress_bar
    from formcheck.errors import UnrecognisedError

    name = " + ".join(clip.name for clip in group)
    with ExitStack() as shown:
        on_progress = shown.enter_context(progress_bar(name))
        confirm = confirm_on_terminal(name, before_asking=shown.close)
        try:
            found = _ways(job)(
                group,
                candidates=job.candidates,
                settings=job.settings,
                confirm=confirm,
                on_progress=on_progress,
            )
        except UnrecognisedError as error:
            raise UnrecognisedError(error.finding, "with --exercise") from None
    for checked in found:
        if checked.recognised and checked.exercise and not confirm:
            file = checked.clip.name
            typer.echo(looks_like(checked.recognised, checked.exercise, file), err=True)
    return found


def _ways(job: _Job) -> "Callable[..., tuple[Checked, ...]]":
    """How a group of clips is checked: one alone, or two of one set."""
    from formcheck.pipeline.check import check_clip
    from formcheck.pipeline.in_turn import check_in_turn
    from formcheck.pipeline.together import check_together

    if job.together:
        return check_together
    return check_in_turn if job.in_turn else lambda group, **how: (check_clip(group[0], **how),)


def _refuse_other_than_two(clips: Sequence[Path], job: _Job) -> None:
    from formcheck.errors import UsageError

    if job.together and job.in_turn:
        raise UsageError("two clips are filmed --together or --in-turn, not both.")
    asked = "--together" if job.together else "--in-turn"
    if (job.together or job.in_turn) and len(clips) != 2:
        raise UsageError(f"{asked} takes two clips of one set, and {len(clips)} were given.")


def _refuse_one_note_for_many(clips: Sequence[Path], note: Path | None) -> None:
    from formcheck.errors import UsageError

    if note and len(clips) > 1:
        raise UsageError(
            f"--note is about one clip, and {len(clips)} were given; check that clip by itself."
        )
