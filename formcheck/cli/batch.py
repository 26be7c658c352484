"""``formcheck batch``: many clips in, a result folder each and a summary out."""

import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from formcheck.cli.options import LookOptions, PageOptions, RecordOption, SideOption, grouped

if TYPE_CHECKING:
    from formcheck.batch.job import Limits
    from formcheck.batch.plan import Request


@dataclass(frozen=True, slots=True)
class LimitOptions:
    """What one clip may be and take."""

    max_minutes: Annotated[
        float, typer.Option(min=0.01, help="Longest clip that is checked, in minutes.")
    ] = 30.0
    max_megapixels: Annotated[
        float, typer.Option(min=0.01, help="Largest picture of a clip, in megapixels.")
    ] = 9.0
    max_decoded_gb: Annotated[
        float, typer.Option(min=0.01, help="All pictures of a clip, decoded, in GB.")
    ] = 400.0
    max_memory_mb: Annotated[
        int, typer.Option(min=256, help="Memory of the worker process of a clip, in MB.")
    ] = 4096
    max_seconds: Annotated[
        float,
        typer.Option(min=1, help="Working time on a clip in seconds, plus five times its length."),
    ] = 600.0

    def limits(self) -> "Limits":
        """The same for the batch."""
        from formcheck.batch.job import Limits

        return Limits(
            duration_s=self.max_minutes * 60,
            pixels=round(self.max_megapixels * 1e6),
            decoded_gb=self.max_decoded_gb,
            memory_mb=self.max_memory_mb,
            time_s=self.max_seconds,
        )


@grouped
def batch(
    sources: Annotated[
        list[str],
        typer.Argument(
            help="A folder, a pattern with *, a manifest (.csv, .toml, .json), or clips.",
            metavar="SOURCE",
        ),
    ],
    out: Annotated[Path, typer.Option(help="Folder for the results, one folder per clip.")],
    exercise: Annotated[
        str | None,
        typer.Option(
            help="Exercise of clips whose manifest gives none: name or .toml file. "
            "Without it, the exercise is recognised in each clip."
        ),
    ] = None,
    side: Annotated[
        SideOption | None,
        typer.Option(
            help="Side of clips whose manifest gives none; otherwise found from the clip."
        ),
    ] = None,
    workers: Annotated[
        int | None,
        typer.Option(min=1, max=1024, help="Number of processes; by default one per core."),
    ] = None,
    watch: Annotated[
        bool, typer.Option("--watch", help="Keep checking clips as they arrive in the folder.")
    ] = False,
    cluster: Annotated[
        str | None,
        typer.Option(help="Address of a Dask scheduler, or local:N to try it here."),
    ] = None,
    retry: Annotated[
        bool, typer.Option("--retry", help="Retry clips that were set aside.")
    ] = False,
    record: Annotated[
        bool,
        typer.Option(
            "--record",
            help="Record each result for its client as it is done; --records does so too.",
        ),
    ] = False,
    records: RecordOption = None,
    look: LookOptions = LookOptions(),
    pages: PageOptions = PageOptions(),
    limits: LimitOptions = LimitOptions(),
) -> None:
    """Check many clips: a result folder for each, and a summary of who needs a look first.

    A clip of a client in the record is judged by what is prescribed there for its day.

    Run again, it does only what is missing or has changed. The exit code is the worst of all clips.

    Example: formcheck batch uploads --exercise scaption-raise --out results
    """
    from formcheck.batch.job import Setup
    from formcheck.batch.plan import Request
    from formcheck.cli.batch_terminal import print_told
    from formcheck.cli.confirm import ask_on_terminal
    from formcheck.records.store import default_place
    from formcheck.sheets.options import SheetOptions

    place = records or default_place()
    request = Request(
        sources=tuple(sources),
        setup=Setup(
            out.absolute(),
            look.settings(),
            SheetOptions(**pages.chosen()),
            limits.limits(),
            retry=retry,
        ),
        exercise=exercise,
        side=side.value if side else None,
        workers=workers or _cores(),
        watch=watch,
        cluster=cluster,
        ask=ask_on_terminal(),
        tell=print_told,
        records=place if records or record or place.exists() else None,
    )
    raise typer.Exit(_run(request, place if record or records else None))


def _run(request: "Request", records: Path | None) -> int:
    """The exit code: the worst of all clips, or 128 and the signal that ended a batch early."""
    from formcheck.batch.recorder import recording
    from formcheck.batch.run import run_batch
    from formcheck.cli.batch_terminal import (
        batch_progress,
        print_batch,
        print_plan,
        print_recorded,
    )
    from formcheck.cli.signals import stop_event
    from formcheck.cli.streams import print_error

    with (
        stop_event() as (stop, came),
        batch_progress(lines=request.watch) as on_progress,
        recording(records, request.setup.out, on_progress) as (on_outcome, recorded),
    ):
        done = run_batch(request, stop=stop, on_plan=print_plan, on_progress=on_outcome)
    print_recorded(recorded)
    if not request.watch:
        print_batch(done, request.setup.out)
    if came:
        print_error("stopped early; the same command goes on from here.")
    if request.watch:
        return 0
    if came:
        return 128 + came[0]
    return max((outcome.exit_code for outcome in done), default=0)


def _cores() -> int:
    """The cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
