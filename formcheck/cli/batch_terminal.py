"""What a batch shows in the terminal: how far it is, and who needs a look first."""

import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from rich.console import Console
from rich.markup import escape

from formcheck.batch.job import Outcome
from formcheck.batch.plan import Plan
from formcheck.batch.summary import HTML_NAME, in_order
from formcheck.batch.tally import Tally
from formcheck.batch.triage import LEVELS, level_name
from formcheck.cli.terminal import moved_line, print_rows, progress
from formcheck.records.recording import RecordedFolder
from formcheck.text import strip_control

MOST_ROWS = 40
"""Clips that the terminal lists; the summary has them all. Mechanical."""


@contextmanager
def batch_progress(*, lines: bool) -> Iterator[Callable[[Tally, Outcome | None], None]]:
    """On standard error a bar with clips, pictures a second and time left, or now and then a line.

    ``lines`` also writes one line on standard output for each clip as it is done.
    """
    with progress("starting") as shown:

        def show(tally: Tally, outcome: Outcome | None) -> None:
            shown(tally.share, _standing(tally))
            if outcome is not None and lines:
                look = level_name(outcome.triage)
                print(f"{outcome.shown}: {look}. {outcome.why}", flush=True)

        yield show


def print_plan(plan: Plan) -> None:
    """One line for each file that was passed over for a reason."""
    for line in plan.skipped:
        print_told(f"left alone: {line}")


def print_told(line: str) -> None:
    """A line about what a batch read of its clips, on standard error."""
    print(strip_control(line), file=sys.stderr)


def print_recorded(recorded: Sequence[RecordedFolder]) -> None:
    """One line for each result that could not be recorded or was of another day, and how many were."""
    for one in recorded:
        if one.done is None:
            print_told(f"not recorded: {one.folder.name}: {one.why}")
        if line := moved_line(one):
            print_told(line)
    if recorded:
        done = sum(one.done is not None for one in recorded)
        print(f"{done} of {len(recorded)} results are recorded", file=sys.stderr)


def print_batch(outcomes: Sequence[Outcome], out: Path) -> None:
    """The clips of a batch, most urgent first, and where all of them are listed."""
    console = Console(highlight=False)
    ordered = in_order(outcomes)
    rows = []
    for outcome in ordered[:MOST_ROWS]:
        score = "-" if outcome.score is None else str(outcome.score)
        look = level_name(outcome.triage)
        rows.append((look, outcome.client, outcome.shown, outcome.counted, score, outcome.why))
    print_rows(console, ("look", "client", "clip", "counted", "score", "why"), rows)
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
