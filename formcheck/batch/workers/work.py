"""One job, done by a worker: check the clip, write its results whole, keep the ledger."""

import traceback
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass, replace
from pathlib import Path
from time import monotonic
from typing import Any

from formcheck.atomic_output import whole_folder
from formcheck.batch import ledger
from formcheck.batch.job import SUMMARY_PAGE, Job, Limits, Outcome, Setup, Status, outcome_of
from formcheck.batch.locks import FolderLocks
from formcheck.batch.sources.fetch import fetched
from formcheck.batch.triage import triage, triage_answer
from formcheck.clips.files import fingerprint
from formcheck.clips.reader import open_clip
from formcheck.errors import ClipError, FormcheckError, OutputError, UnrecognisedError
from formcheck.pipeline.check import Checked, check_clip
from formcheck.pipeline.together import check_together
from formcheck.result_folder import result_folder
from formcheck.sheets.pages.dose import counted_line
from formcheck.sheets.pages.marks import rep_mark
from formcheck.sheets.write import write_sheets
from formcheck.words.words import words_for

ProgressCallback = Callable[[dict[str, Any]], None]
"""Is told how far the work on a clip is: ``begun`` with its key and length, then ``share``."""

_UNEXPECTED = "Something went wrong in formcheck itself ({}); please report it with this file."


Check = Callable[..., Checked]
"""``pipeline.check_clip``, or something that stands in for it."""


@dataclass(frozen=True, slots=True)
class _Task:
    job: Job
    setup: Setup
    on_progress: ProgressCallback
    check: Check


def run_job(
    job: Job,
    setup: Setup,
    locks: FolderLocks,
    on_progress: ProgressCallback,
    *,
    check: Check = check_clip,
) -> Outcome | None:
    """Check a clip, unless that is done already; None if another process is at work on it.

    A clip that cannot be checked is set aside with the reason. Raises OutputError where results
    cannot be written at all.
    """
    if not locks.acquire(job.folder):
        return None
    try:
        return _locked(_Task(job, setup, on_progress, check))
    finally:
        locks.release(job.folder)


def _locked(task: _Task) -> Outcome:
    job, setup = task.job, task.setup
    key = ""
    try:
        with _local(job, setup.limits) as path:
            clip_sha256 = fingerprint(path)
            key = ledger.key_of(job, setup, clip_sha256)
            folder = result_folder(setup.out, job.folder, clip_sha256)
            if earlier := ledger.finished(job, setup, key, folder):
                return replace(earlier, shown=job.shown, folder=folder.name)
            with open_clip(path, speed=setup.settings.speed, limits=setup.limits) as clip:
                task.on_progress({"begun": key, "length_s": clip.info.stated_duration_s})
            return _check_and_write(task, path, key, folder)
    except OutputError:
        raise
    except ClipError as error:
        return ledger.set_aside(job, setup, key, str(error), status="unreadable")
    except UnrecognisedError as error:
        reason = str(UnrecognisedError(error.finding, "with --exercise or in a manifest"))
        return ledger.set_aside(job, setup, key, reason, triage="unrecognised")
    except FormcheckError as error:
        return ledger.set_aside(job, setup, key, str(error))
    except MemoryError:
        reason = f"Checking it needs more than {setup.limits.memory_mb} MB of memory."
        return ledger.set_aside(job, setup, key, reason)
    except Exception as error:  # one clip must not stop the others, whatever it brings to light
        notes = traceback.format_exc()
        return ledger.set_aside(
            job, setup, key, _UNEXPECTED.format(type(error).__name__), notes=notes
        )


def _check_and_write(task: _Task, path: Path, key: str, target: Path) -> Outcome:
    """Write the result of a clip, or of two together; of two that cannot be joined one of each."""
    started = monotonic()
    job, setup = task.job, task.setup
    first, *others = (_check_with_second if job.second else _check)(task, path)
    second = ""
    for other in others:
        folder = result_folder(setup.out, job.second_folder, other.result.clip.sha256)
        with _written(job.of_second, setup, other, folder) as draft:
            outcome = replace(_outcome(job.of_second, other, 0.0), folder=folder.name)
            ledger.complete(draft, job.of_second, key, outcome)
        second = folder.name
    if job.second and not others:
        ledger.withdraw(setup.out / job.second_folder, job.of_second)
    with _written(job, setup, first, target) as draft:
        outcome = replace(_outcome(job, first, monotonic() - started), folder=target.name)
        ledger.complete(draft, job, key, outcome, second)
    ledger.succeed(job, setup)
    return outcome


@contextmanager
def _written(job: Job, setup: Setup, checked: Checked, target: Path) -> Iterator[Path]:
    """A folder with all sheets, to be completed in the block; then it is in its place."""
    options = replace(
        setup.sheets,
        alias=job.client,
        made_on=job.made_on,
        answer=job.answer,
        most_pain=job.most_pain,
        all_clips=f"../{SUMMARY_PAGE}",
    )
    sha256, share = checked.result.clip.sha256, setup.sheets.share
    with whole_folder(target, sha256, share=share) as folder:
        write_sheets(checked, folder / "sheets", options)
        for file in list((folder / "sheets").iterdir()):
            file.rename(folder / file.name)
        (folder / "sheets").rmdir()
        yield folder


def _check(task: _Task, path: Path) -> tuple[Checked, ...]:
    return (task.check(path, **_how(task)),)


def _check_with_second(task: _Task, path: Path) -> tuple[Checked, ...]:
    """Both clips of a set together; where they cannot be joined each alone, which says why."""
    second = Path(task.job.second)
    if second.resolve() != second:
        raise ClipError(f"{second.name}: has become a link since it was listed; it is not followed")
    return check_together((path, second), **_how(task))


def _how(task: _Task) -> dict[str, Any]:
    return {
        "candidates": task.job.candidates,
        "settings": task.job.settings(task.setup),
        "limits": task.setup.limits,
        "on_progress": lambda share: task.on_progress({"share": share}),
    }


def _outcome(job: Job, checked: Checked, seconds: float) -> Outcome:
    result = checked.result
    level, why = triage_answer(job) or triage(result, checked.exercise)
    status: Status = "analysed" if result.usable else "unusable"
    return replace(
        outcome_of(job, status, level, why),
        exercise=checked.exercise.name if checked.exercise else "",
        side=result.side,
        score=result.summary.score,
        counted=counted_line(result.dose, words_for("en")) if result.usable else "",
        dose_met=result.dose.met,
        duration_s=round(result.clip.duration_s, 2),
        frames=result.clip.frames,
        title=checked.exercise.title if checked.exercise else "",
        marks=tuple(rep_mark(judged, checked.exercise, words_for("en")) for judged in result.reps),
        seconds=round(seconds, 2),
        another_exercise=result.another_exercise is not None,
    )


def _local(job: Job, limits: Limits) -> AbstractContextManager[Path]:
    """The clip as a local file: itself, or a copy for the length of the block."""
    if "://" in job.clip:
        return fetched(job.clip, job.shown, limits)
    path = Path(job.clip)
    if path.resolve() != path:
        raise ClipError(f"{job.shown}: has become a link since it was listed; it is not followed")
    return nullcontext(path)
