"""What a batch shows in the terminal: how far it is, and who needs a look first."""

import signal
import sys
import threading
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

from rich.console import Console
from rich.markup import escape
from rich.progress import BarColumn, Progress, TextColumn
from rich.table import Table

from formcheck.batch.job import Outcome
from formcheck.batch.plan import Plan
from formcheck.batch.summary import HTML_NAME, in_order
from formcheck.batch.tally import Tally
from formcheck.batch.triage import LEVELS, level_name

MOST_ROWS = 40
"""Clips that the terminal lists; the summary has them all. Mechanical."""


@contextmanager
def interruptible() -> Iterator[tuple[threading.Event, list[int]]]:
    """An event that SIGINT and SIGTERM set for the length of the block, and which of them came."""
    stop = threading.Event()
    came: list[int] = []

    def ask_to_stop(number: int, frame: FrameType | None) -> None:
        came.append(number)
        stop.set()

    kinds = (signal.SIGINT, signal.SIGTERM)
    before = {kind: signal.signal(kind, ask_to_stop) for kind in kinds}
    try:
        yield stop, came
    finally:
        for kind, handler in before.items():
            signal.signal(kind, handler)


@contextmanager
def batch_progress(*, lines: bool) -> Iterator[Callable[[Tally, Outcome | None], None]]:
    """A bar on standard error with clips, pictures a second and time left, where it is a terminal.

    ``lines`` also writes one line on standard output for each clip as it is done.
    """
    console = Console(stderr=True)
    column = TextColumn("{task.description}")
    with Progress(column, BarColumn(), console=console, transient=True) as bar:
        bar.disable = not console.is_terminal
        task = bar.add_task("starting", total=1.0)

        def show(tally: Tally, outcome: Outcome | None) -> None:
            bar.update(task, completed=tally.share, description=_standing(tally))
            if outcome is not None and lines:
                look = level_name(outcome.triage)
                print(f"{outcome.shown}: {look}. {outcome.why}", flush=True)

        yield show


def print_skipped(plan: Plan) -> None:
    """One line for each file that was passed over for a reason."""
    for line in plan.skipped:
        print(f"left alone: {line}", file=sys.stderr)


def print_batch(outcomes: Sequence[Outcome], out: Path) -> None:
    """The clips of a batch, most urgent first, and where all of them are listed."""
    console = Console(highlight=False)
    table = Table(box=None, pad_edge=False, header_style="dim")
    for heading in ("look", "client", "clip", "counted", "score", "why"):
        table.add_column(heading, overflow="fold")
    ordered = in_order(outcomes)
    for outcome in ordered[:MOST_ROWS]:
        score = "-" if outcome.score is None else str(outcome.score)
        look = level_name(outcome.triage)
        cells = (look, outcome.client, outcome.shown, outcome.counted, score, outcome.why)
        table.add_row(*(escape(cell) for cell in cells))
    if ordered:
        console.print(table)
    if len(ordered) > MOST_ROWS:
        console.print(f"... and {len(ordered) - MOST_ROWS} more")
    times = Counter(outcome.triage for outcome in outcomes)
    parts = [f"{times[level]} {level_name(level)}" for level in LEVELS if times[level]]
    kept = sum(outcome.cached for outcome in outcomes)
    before = f"; {kept} done before" if kept else ""
    clips = "1 clip" if len(outcomes) == 1 else f"{len(outcomes)} clips"
    console.print(f"{clips}: {', '.join(parts) or 'nothing done'}{before}", soft_wrap=True)
    console.print(f"All results: {escape(str(out / HTML_NAME))}", soft_wrap=True)


def _standing(tally: Tally) -> str:
    parts = [f"{tally.done} of {tally.total} clips"]
    if tally.frames:
        parts.append(f"{tally.frames_per_s:.0f} pictures a second")
    if tally.seconds_left is not None:
        parts.append(f"about {_duration(tally.seconds_left)} left")
    return ", ".join(parts)


def _duration(seconds: float) -> str:
    minutes = round(seconds / 60)
    if minutes < 1:
        return f"{seconds:.0f} s"
    return f"{minutes} min" if minutes < 90 else f"{minutes / 60:.1f} h"
