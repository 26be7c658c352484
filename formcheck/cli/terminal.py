"""Progress and tables in the terminal; quiet when output goes elsewhere."""

import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from time import monotonic
from typing import TYPE_CHECKING

from formcheck.catalogue.codes import LimitState, ProblemCode
from formcheck.pipeline.settings import Progress as OnProgress
from formcheck.text import strip_control

if TYPE_CHECKING:
    from rich.console import Console

    from formcheck.checks.result import ClipResult, Finding, JudgedRep, LimitReport
    from formcheck.exercises.programme import Prescription
    from formcheck.records.recording import RecordedFolder
    from formcheck.words.words import Words


LINE_EVERY_S = 10.0
"""How often a line says how far the work is where no bar can be drawn. Mechanical."""
MIN_TABLE_WIDTH = 72
"""Columns of a terminal below which the cells of a table are listed instead. Mechanical."""

Shown = Callable[[float, str], None]
"""Is told the share of the work that is done, 0-1, and what is being done."""


@contextmanager
def progress(label: str, *, time_left: bool = False) -> Iterator[Shown]:
    """A progress bar on standard error; where that is not a terminal, a line every now and then."""
    if not sys.stderr.isatty():
        yield _lines_now_and_then()
        return
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        Progress,
        ProgressColumn,
        TextColumn,
        TimeRemainingColumn,
    )

    columns: list[ProgressColumn] = [TextColumn("{task.description}", markup=False), BarColumn()]
    columns += [TimeRemainingColumn()] if time_left else []
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(strip_control(label), total=1.0)
        yield lambda share, label: bar.update(
            task, completed=share, description=strip_control(label)
        )


@contextmanager
def progress_bar(label: str) -> Iterator[OnProgress]:
    """The progress of one clip."""
    with progress(label, time_left=True) as shown:
        yield lambda share: shown(share, label)


def _lines_now_and_then() -> Shown:
    due_at = monotonic() + LINE_EVERY_S

    def show(share: float, label: str) -> None:
        nonlocal due_at
        if monotonic() >= due_at:
            due_at = monotonic() + LINE_EVERY_S
            print(f"{strip_control(label)}: {share:.0%} done", file=sys.stderr, flush=True)

    return show


def print_rows(console: "Console", headings: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """A table, or in a narrow terminal a paragraph for each of its rows."""
    from rich.markup import escape
    from rich.table import Table

    harmless = [[escape(strip_control(cell)) for cell in row] for row in rows]
    if console.width < MIN_TABLE_WIDTH:
        for row in harmless:
            told = (
                f"[dim]{name}[/dim] {cell}"
                for name, cell in zip(headings, row, strict=True)
                if cell
            )
            console.print(", ".join(told))
    elif harmless:
        table = Table(box=None, pad_edge=False, header_style="dim")
        for heading in headings:
            table.add_column(heading, overflow="fold")
        for row in harmless:
            table.add_row(*row)
        console.print(table)


def moved_line(one: "RecordedFolder") -> str:
    """That the record had a result's clip for another day; empty where it had not."""
    from formcheck.words.words import words_for

    if one.moved_from is None:
        return ""
    moved = words_for("en")("recorded.moved", before=str(one.moved_from), day=str(one.day))
    return strip_control(f"{one.folder.name}: {moved}")


def print_result(result: "ClipResult") -> None:
    """One short table of a clip: each repetition, what was counted, and what to work on."""
    from rich.console import Console
    from rich.markup import escape

    from formcheck.words.words import words_for

    console, words = Console(highlight=False), words_for("en")
    known = [name for name in (result.exercise, result.side) if name != "unknown"]
    console.print(f"[bold]{escape(strip_control(result.clip.file))}[/bold]  {', '.join(known)}")
    for line in (*limit_lines(result.alarms, words), *_prescribed_lines(result, words)):
        console.print(escape(strip_control(line)))
    headings = ("no.", "kind", "side", "from", "to", "held", "score", "findings")
    print_rows(console, headings, [_cells(judged, words) for judged in result.reps])
    for line in _summary_lines(result, words):
        console.print(escape(strip_control(line)))


def _cells(judged: "JudgedRep", words: "Words") -> tuple[str, ...]:
    rep = judged.rep
    kind = rep.direction or rep.part or rep.kind
    return (
        str(rep.index),
        words("terminal.partial", kind=kind) if rep.partial else kind,
        rep.side,
        words.moment(rep.start_s, 1),
        words.moment(rep.end_s, 1),
        words.quantity(rep.hold_s, "s") if rep.hold_s is not None else "",
        str(judged.score) if judged.score is not None else "-",
        _told(judged, words),
    )


def limit_lines(limits: "Sequence[LimitReport]", words: "Words") -> list[str]:
    """What is told of limits of safety, before all else where they were passed or may have been."""
    from formcheck.words.limits import limit_heading, limit_line

    return [
        words(
            "terminal.limit",
            heading=limit_heading(one, words),
            line=limit_line(one, words),
            cue=words.tell(one.cue) if one.state.alarming else "",
        ).strip()
        for one in limits
    ]


def _summary_lines(result: "ClipResult", words: "Words") -> Iterator[str]:
    """What to work on, what was left out or not measured, and what to know of the recording."""
    from formcheck.sheets.pages.dose import sets_line
    from formcheck.words.labels import not_measured

    if result.second:
        yield words.tell(result.second.message)
        yield words.tell(result.second.taken_for_one_set)
    sets = sets_line(result.dose, words)
    if sets:
        yield words("terminal.counted", counted=sets)
    yield from limit_lines(
        [one for one in result.limits if one.state is LimitState.UNCHECKED], words
    )
    for cue in result.summary.cues:
        key = "terminal.work_on" if cue.certain else "terminal.perhaps_work_on"
        yield words(key, cue=words.tell(cue.sentence), at_s=cue.at_s)
    yield from (words.tell(message) for message in result.summary.rounds)
    for one in result.summary.not_measured:
        yield not_measured(one, words, "terminal.not_measured")
    for problem in result.problems:
        key = "terminal.not_usable" if problem.fatal else "terminal.note"
        yield words(key, problem=words.tell(problem.message))
        if problem.code == ProblemCode.WHO_IS_MEANT:
            yield words("terminal.choose_person", people=problem.params["people"])


def _told(judged: "JudgedRep", words: "Words") -> str:
    """What was found in a repetition, or that nothing was."""
    from formcheck.words.labels import check_title

    found = [
        f"{check_title(finding, words)} {_verdict(finding, words)}"
        for finding in judged.findings
        if finding.verdict in ("outside", "borderline")
        or (finding.essential and finding.verdict == "not-measurable" and not judged.rep.partial)
    ]
    none = "" if judged.rep.partial else words("terminal.nothing_outside")
    return ", ".join(dict.fromkeys(found)) or none


def _verdict(finding: "Finding", words: "Words") -> str:
    if finding.verdict == "outside":
        return str(finding.verdict)
    name = "probably-fine" if finding.probably_fine else finding.verdict
    return words(f"verdict.{name}").lower()


def _prescribed_lines(result: "ClipResult", words: "Words") -> list[str]:
    """What the programme prescribes for this client, and whether the dose was done."""
    from formcheck.sheets.pages.prescribed import prescribed_for_coach

    prescription = result.prescription
    if prescription is None:
        return []
    (_, programme), *rows = prescribed_for_coach(result, prescription.exercise, words)
    lines = [words("terminal.judged_by", programme=programme)]
    return lines + [words("terminal.prescribed", name=name, text=text) for name, text in rows]


def print_programme(
    prescriptions: Sequence["Prescription"], results: Sequence["ClipResult"]
) -> None:
    """Sets done against sets prescribed; a set is done when its own dose was met, and one clip may
    show several.
    """
    from formcheck.words.words import words_for

    words = words_for("en")
    for prescription in (one for one in prescriptions if one.listed):
        mine = [result for result in results if result.prescription is prescription]
        met = sum(result.dose.counted.sets_done for result in mine)
        dose = prescription.exercise.dose
        each = str(dose.count)
        each += words("terminal.each_way") if dose.per_direction else ""
        each += words("terminal.held", held=words.exact(dose.hold_s, "s")) if dose.hold_s else ""
        filmed = words.count("terminal.filmed", len(mine)) if mine else words("terminal.not_filmed")
        line = words.count(
            "terminal.sets",
            dose.sets,
            exercise=prescription.exercise.name,
            side=prescription.side,
            done=met,
            each=each,
            filmed=filmed,
        )
        if prescription.after_sessions:
            line += words.count("terminal.due_after", prescription.after_sessions)
        print(strip_control(line))
