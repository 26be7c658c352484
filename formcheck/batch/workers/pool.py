"""The batch's side of its workers: gives out jobs, takes what becomes of them, replaces the fallen."""

import json
import queue
import signal
import sys
from collections import Counter
from collections.abc import Sequence
from time import monotonic
from typing import Any, Protocol, Self

from formcheck.batch.job import TIME_FACTOR, Job, Outcome, Setup
from formcheck.batch.ledger import set_aside
from formcheck.batch.locks import FolderLocks
from formcheck.batch.workers.process import WorkerMessage, WorkerProcess
from formcheck.errors import OutputError, UsageError
from formcheck.result_folder import recover_results

WORKER_COMMAND = (sys.executable, "-P", "-m", "formcheck.batch.workers.worker")
CLIPS_A_WORKER = 100
"""After so many clips a worker is replaced, which bounds whatever native code may leak. A proposal."""
TRIES = 2
"""A worker may have been ended by something that has nothing to do with its clip. A proposal."""

Answer = tuple[Job, Outcome | None]
"""What became of a job; None if another process is at work on it."""


class Executor(Protocol):
    """Where jobs are done: worker processes here, or a cluster."""

    @property
    def free(self) -> int:
        """How many more jobs it would take now."""
        ...

    @property
    def shares(self) -> dict[str, float]:
        """How much of each clip at work is done, by result folder."""
        ...

    def submit(self, job: Job) -> None:
        """Start on a job."""
        ...

    def poll(self, timeout_s: float) -> list[Answer]:
        """What is answered within a time. Raises UsageError if nothing can be done at all."""
        ...


class Pool:
    """Worker processes on this machine; use as a context manager.

    A worker that dies gets a successor and its clip one more try; one that takes too long is ended
    and its clip set aside.
    """

    def __init__(
        self,
        setup: Setup,
        locks: FolderLocks,
        *,
        workers: int,
        command: Sequence[str] = WORKER_COMMAND,
    ) -> None:
        self._setup = setup
        self._locks = locks
        self._most = workers
        self._command = command
        self._workers: list[WorkerProcess] = []
        self._inbox: queue.SimpleQueue[WorkerMessage] = queue.SimpleQueue()
        self._answers: list[Answer] = []
        self._crashes: Counter[str] = Counter()
        self._failed_starts = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()

    @property
    def free(self) -> int:
        """Workers without a job, started or not."""
        return self._most - sum(worker.job is not None for worker in self._workers)

    @property
    def shares(self) -> dict[str, float]:
        """How much of each clip at work is done, by result folder."""
        return {worker.job.folder: worker.share for worker in self._workers if worker.job}

    def submit(self, job: Job) -> None:
        """Give a job to a worker without one, starting it if need be."""
        worker = next((worker for worker in self._workers if worker.job is None), None)
        if worker is None:
            worker = WorkerProcess(self._command, self._inbox)
            self._workers.append(worker)
        worker.start(job, self._setup)

    def poll(self, timeout_s: float) -> list[Answer]:
        """Answers that come within a time; at once when there is one."""
        try:
            self._on_message(*self._inbox.get(timeout=timeout_s))
            while True:
                self._on_message(*self._inbox.get_nowait())
        except queue.Empty:
            pass
        for worker in list(self._workers):
            if worker.job and monotonic() > worker.deadline:
                self._end_late(worker, worker.job)
        answers, self._answers = self._answers, []
        return answers

    def close(self) -> None:
        """End all workers at once and remove what they were writing."""
        for worker in self._workers:
            worker.stop()
        self._workers.clear()
        recover_results(self._setup.out)

    def _on_message(self, worker: WorkerProcess, line: bytes) -> None:
        if worker not in self._workers:
            return
        try:
            message = json.loads(line) if line else {"died": True}
            self._apply(worker, message)
        except (ValueError, TypeError, KeyError, AttributeError):
            self._apply(worker, {"died": True})  # what it says makes no sense any more

    def _apply(self, worker: WorkerProcess, message: dict[str, Any]) -> None:
        if "ready" in message:
            worker.is_ready()
            self._failed_starts = 0
        elif "share" in message:
            worker.share = float(message["share"])
        elif "begun" in message:
            worker.key = str(message["begun"])
            worker.deadline += TIME_FACTOR * float(message["length_s"] or 0.0)
        elif "refused" in message:
            raise OutputError(str(message["refused"]))
        elif "died" in message:
            self._on_worker_exit(worker)
        elif worker.job:
            outcome = Outcome(**message["outcome"]) if message["outcome"] else None
            self._answers.append((worker.job, outcome))
            del self._crashes[worker.job.folder]
            worker.job = None
            worker.checked += outcome is not None and not outcome.cached
            if worker.checked >= CLIPS_A_WORKER:
                self._workers.remove(worker)
                worker.stop()

    def _on_worker_exit(self, worker: WorkerProcess) -> None:
        self._workers.remove(worker)
        status, notes = worker.stop()
        job = worker.job
        if not worker.ready:
            self._failed_starts += 1
            if self._failed_starts > self._most:
                raise UsageError(
                    f"workers end before they have begun ({_in_words(status)}). "
                    f"Run 'formcheck doctor' to check the installation. {notes[-800:]}"
                )
        if job is None:
            return
        self._crashes[job.folder] += worker.ready
        if self._crashes[job.folder] < TRIES:
            self.submit(job)
            return
        reason = (
            f"Checking it crashed its worker {TRIES} times ({_in_words(status)}). "
            f"The file may be damaged, or need more than {self._setup.limits.memory_mb} MB."
        )
        self._set_aside(job, worker.key, reason, notes)

    def _end_late(self, worker: WorkerProcess, job: Job) -> None:
        self._workers.remove(worker)
        _, notes = worker.stop()
        reason = (
            "Checking it took too long and was ended. The file may be damaged; "
            "if it is only long or this machine slow, raise --max-seconds."
        )
        self._set_aside(job, worker.key, reason, notes)

    def _set_aside(self, job: Job, key: str, reason: str, notes: str) -> None:
        recover_results(self._setup.out)
        if not self._locks.acquire(job.folder):
            self._answers.append((job, None))
            return
        try:
            outcome = set_aside(job, self._setup, key, reason, notes=notes)
        finally:
            self._locks.release(job.folder)
        del self._crashes[job.folder]
        self._answers.append((job, outcome))


def _in_words(status: int | None) -> str:
    if status is None:
        return "it made no sense any more"
    if status >= 0:
        return f"exit status {status}"
    try:
        return signal.Signals(-status).name
    except ValueError:
        return f"signal {-status}"
