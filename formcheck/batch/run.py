"""The package's entry point: a batch from its request to its last outcome."""

import threading
from collections.abc import Callable, Sequence
from pathlib import Path
from time import monotonic

from formcheck.atomic_output import prepare_folder
from formcheck.batch.job import Limits, Outcome, Setup
from formcheck.batch.locks import FolderLocks
from formcheck.batch.plan import Plan, Request, make_plan
from formcheck.batch.recorder import OnProgress, recording
from formcheck.batch.summary import Summary
from formcheck.batch.tally import Tally
from formcheck.batch.workers.cluster import Cluster
from formcheck.batch.workers.loop import outcomes
from formcheck.batch.workers.pool import WORKER_COMMAND, Executor, Pool
from formcheck.errors import UsageError
from formcheck.landmarks.bundles import find_bundle
from formcheck.pipeline.settings import Progress, Settings, SideChoice
from formcheck.result_folder import recover_results
from formcheck.sheets.options import SheetOptions, validate_options

SUMMARY_EVERY_S = 5.0
"""Time between two writings of the summary while clips are checked. Mechanical."""
SUMMARY_SHARE = 0.05
"""Writing the summary may take so much of the time; a large one is written less often. Mechanical."""

OnPlan = Callable[[Plan], None]


def run_batch(
    request: Request,
    *,
    stop: threading.Event,
    on_plan: OnPlan = lambda plan: None,
    on_progress: OnProgress = lambda tally, outcome: None,
    command: tuple[str, ...] = WORKER_COMMAND,
) -> list[Outcome]:
    """Check all clips of a request; what became of each, in the order in which they were done.

    Ends when all are done or ``stop`` is set; what was at work then is dropped and left for the
    next run. ``on_plan`` is called once, ``on_progress`` some times a second and with every outcome.
    ``command`` starts a worker process.

    Raises
    ------
    UsageError
        The request is wrong, or no results can be written or no worker started.
    """
    out = request.setup.out
    _refuse(request.setup)
    share = request.setup.sheets.share
    prepare_folder(out, share=share)
    find_bundle(request.setup.settings.model)
    with FolderLocks(out) as locks:
        recover_results(out)
        plan = make_plan(request)
        on_plan(plan)
        summary = Summary(out, locks, share=share)
        try:
            with _executor(request, locks, command) as executor:
                return _gather(plan, executor, summary, stop, on_progress)
        finally:
            summary.write()


def check_folder(
    sources: str | Path | Sequence[str | Path],
    out: str | Path,
    exercise: str | Path | None = None,
    *,
    side: SideChoice | None = None,
    settings: Settings | None = None,
    sheets: SheetOptions | None = None,
    limits: Limits | None = None,
    workers: int = 1,
    retry: bool = False,
    records: str | Path | None = None,
    on_progress: Progress | None = None,
) -> list[Outcome]:
    """Check many clips and write a result folder for each, ``summary.csv`` and ``summary.html``.

    Called again it does only what is missing or has changed. A clip that cannot be checked is set
    aside with the reason and stops nothing. Each clip is checked in one of ``workers`` processes.

    Parameters
    ----------
    sources
        A folder, a pattern with ``*``, a manifest (.csv, .toml, .json), a clip, or several of them.
    out
        The folder for the results.
    exercise, side
        For clips whose manifest gives none; left out, they are found in each clip.
    settings, sheets, limits
        How clips are looked at, how sheets are made, and what one clip may be and take.
    retry
        Try clips again that were set aside before.
    records
        The record of clients (``open_store``): clips of a client in it are judged by what it
        prescribes for their day, and each result goes into it as soon as it is there, if it says
        whose it is and of which day. Left out, nothing is looked up.
    on_progress
        Is told the share of the work that is done, 0-1.

    Returns
    -------
    What became of each clip, in the order in which they were done.

    Raises
    ------
    UsageError
        There are no clips, a manifest is wrong, results cannot be written, or the record is
        missing or damaged.
    """
    named = [sources] if isinstance(sources, str | Path) else sources
    request = Request(
        sources=tuple(str(source) for source in named),
        setup=Setup(
            out=Path(out).absolute(),
            settings=settings or Settings(),
            sheets=sheets or SheetOptions(),
            limits=limits or Limits(),
            retry=retry,
        ),
        exercise=None if exercise is None else str(exercise),
        side=side,
        workers=workers,
        records=None if records is None else Path(records),
    )
    told = on_progress or (lambda share: None)
    with recording(request.records, request.setup.out, lambda tally, _: told(tally.share)) as (
        record,
        _,
    ):
        return run_batch(request, stop=threading.Event(), on_progress=record)


def _refuse(setup: Setup) -> None:
    validate_options(setup.sheets, setup.settings)
    if setup.sheets.alias or setup.sheets.made_on or setup.sheets.note:
        raise UsageError(
            "a batch has no client, date or note of its own; give each clip's client and date in a "
            "manifest"
        )


def _executor(request: Request, locks: FolderLocks, command: tuple[str, ...]) -> Pool | Cluster:
    if request.cluster is not None:
        return Cluster(request.cluster, request.setup, locks, command=command)
    return Pool(request.setup, locks, workers=request.workers, command=command)


def _gather(
    plan: Plan, executor: Executor, summary: Summary, stop: threading.Event, on_progress: OnProgress
) -> list[Outcome]:
    tally = Tally.of(plan.jobs, monotonic())
    done: list[Outcome] = []
    write_at = monotonic() + SUMMARY_EVERY_S
    fresh = False
    for outcome in outcomes(plan.feed, executor, stop):
        if outcome is not None:
            done.append(outcome)
            tally.add(outcome)
            fresh = True
        tally.at_work(executor.shares)
        on_progress(tally, outcome)
        if fresh and monotonic() > write_at:
            started = monotonic()
            summary.write()
            write_at = monotonic() + max(SUMMARY_EVERY_S, (monotonic() - started) / SUMMARY_SHARE)
            fresh = False
    return done
