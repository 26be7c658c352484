"""Progress and tables in the terminal; quiet when output goes elsewhere."""

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

from formcheck.pipeline.settings import Progress

if TYPE_CHECKING:
    from formcheck.checks.result import ClipResult, JudgedRep
    from formcheck.exercises.programme import Prescription


@contextmanager
def progress_bar(label: str) -> Iterator[Progress]:
    """A progress bar on standard error, or nothing at all where that is not a terminal."""
    if not sys.stderr.isatty():
        yield lambda share: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, TextColumn, TimeRemainingColumn
    from rich.progress import Progress as Bar

    console = Console(stderr=True)
    columns = (TextColumn("{task.description}"), BarColumn(), TimeRemainingColumn())
    with Bar(*columns, console=console, transient=True) as bar:
        task = bar.add_task(label, total=1.0)
        yield lambda share: bar.update(task, completed=share)


def print_result(result: "ClipResult") -> None:
    """One short table of a clip: each repetition, what was counted, and what to work on."""
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table

    from formcheck.words.labels import not_measured
    from formcheck.words.words import words_for

    console, words = Console(highlight=False), words_for("en")
    known = [name for name in (result.exercise, result.side) if name != "unknown"]
    console.print(f"[bold]{escape(result.clip.file)}[/bold]  {', '.join(known)}")
    for line in _prescribed_lines(result):
        console.print(escape(line))
    if result.reps:
        table = Table(box=None, pad_edge=False, header_style="dim")
        for heading in ("no.", "kind", "side", "from", "to", "held", "score", "findings"):
            table.add_column(heading)
        for judged in result.reps:
            rep = judged.rep
            kind = rep.direction or rep.part or rep.kind
            table.add_row(
                str(rep.index),
                f"{kind} (partial)" if rep.partial else kind,
                rep.side,
                words.moment(rep.start_s, 1),
                words.moment(rep.end_s, 1),
                f"{rep.hold_s:.1f} s" if rep.hold_s is not None else "",
                str(judged.score) if judged.score is not None else "-",
                _told(judged),
            )
        console.print(table)
    for cue in result.summary.cues:
        sure = "work on" if cue.certain else "perhaps work on"
        console.print(f"{sure}: {escape(words.tell(cue.sentence))} ({words.moment(cue.at_s)})")
    for message in result.summary.rounds:
        console.print(escape(words.tell(message)))
    for one in result.summary.not_measured:
        console.print(f"not measured: {escape(not_measured(one, words))}")
    for problem in result.problems:
        told = escape(words.tell(problem.message))
        console.print(f"{'not usable' if problem.fatal else 'note'}: {told}")


def _told(judged: "JudgedRep") -> str:
    """What was found in a repetition, or that nothing was."""
    found = [
        f"{finding.id} {finding.verdict}"
        for finding in judged.findings
        if finding.verdict in ("outside", "borderline")
    ]
    return ", ".join(found) or ("" if judged.rep.partial else "within, as far as measured")


def _prescribed_lines(result: "ClipResult") -> list[str]:
    """What the programme prescribes for this client, and whether the dose was done."""
    prescription = result.prescription
    if prescription is None:
        return []
    lines = [f"prescribed for {prescription.client}, {prescription.phase}"]
    lines += [
        f"  {change.key}: {change.before or 'none'} -> {change.after or 'none'}"
        for change in prescription.changes
        if change.key.endswith(_NUMBERS)
    ]
    lines += [f"  note: {prescription.note}"] if prescription.note else []
    lines += [f"  leave it out if {reason}" for reason in prescription.leave_out_if]
    return lines


_NUMBERS = (".low", ".high", "_s", "_s 1", "_s 2", "_s 3", ".count", ".sets", ".days_a_week")


def print_programme(
    prescriptions: Sequence["Prescription"], results: Sequence["ClipResult"]
) -> None:
    """Sets done against sets prescribed; a set is done when its own dose was met."""
    for prescription in prescriptions:
        mine = [result for result in results if result.prescription is prescription]
        met = sum(result.dose.met is True for result in mine)
        dose = prescription.exercise.dose
        each = f"{dose.count}{' each way' if dose.per_direction else ''}"
        held = f", held {dose.hold_s:g} s" if dose.hold_s else ""
        line = f"{prescription.exercise.name}, {prescription.side}: {met} of {dose.sets} "
        line += f"set{'' if dose.sets == 1 else 's'} of {each}{held} done"
        line += f" ({len(mine)} filmed)" if mine else " (not filmed)"
        if prescription.after_sessions:
            line += f"; due after {prescription.after_sessions} sessions"
        print(line)
