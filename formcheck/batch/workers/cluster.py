"""The same jobs on a dask.distributed cluster.

Each job runs there in a worker process of ours, under the same limits and the same locks as on one
machine; the cluster decides where, and does it again elsewhere when a machine is lost.
"""

import logging
import queue
from contextlib import ExitStack
from typing import TYPE_CHECKING, Any, Self

from formcheck.batch.job import Job, Outcome, Setup, to_json
from formcheck.batch.ledger import set_aside
from formcheck.batch.locks import FolderLocks
from formcheck.batch.workers import remote
from formcheck.batch.workers.pool import Answer
from formcheck.errors import OutputError, UsageError
from formcheck.scratch import scratch_folder
from formcheck.version import __version__

if TYPE_CHECKING:
    from distributed import Client

LOCAL = "local:"
JOBS_AHEAD = 2
"""Jobs given out for each thread of the cluster, so that none waits for the next one. A
proposal."""
_CONNECT_S = 10
"""Longest wait for a cluster to answer. Mechanical."""


class Cluster:
    """Jobs on a cluster; use as a context manager.

    ``address`` is that of a Dask scheduler, or ``local:N`` for N processes on this machine.
    ``command`` starts the worker processes. Raises UsageError if the cluster cannot be used.
    """

    def __init__(
        self, address: str, setup: Setup, locks: FolderLocks, *, command: tuple[str, ...] = ()
    ) -> None:
        self._setup = setup
        self._locks = locks
        self._command = command
        self._at_work: dict[str, tuple[Job, Any]] = {}
        self._done: queue.SimpleQueue[str] = queue.SimpleQueue()
        with ExitStack() as closing:
            self.client = _connect(address, closing)
            self._refuse_other_versions()
            self._closing = closing.pop_all()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *error: object) -> None:
        self.client.cancel([future for _, future in self._at_work.values()])
        self._closing.close()

    @property
    def free(self) -> int:
        """Jobs that the cluster would take now, however many machines it has at the moment."""
        return int(max(JOBS_AHEAD, JOBS_AHEAD * sum(self.client.nthreads().values()))) - len(
            self._at_work
        )

    @property
    def shares(self) -> dict[str, float]:
        """The jobs at work; how far each has come is not told across machines."""
        return dict.fromkeys((job.folder for job, _ in self._at_work.values()), 0.0)

    def submit(self, job: Job) -> None:
        """Hand a job to the cluster."""
        message = to_json(job, self._setup)
        future = self.client.submit(remote.do_remotely, message, self._command, pure=False)
        self._at_work[future.key] = (job, future)
        future.add_done_callback(lambda done: self._done.put(done.key))

    def poll(self, timeout_s: float) -> list[Answer]:
        """Answers that come within a time; at once when there is one."""
        answers: list[Answer] = []
        try:
            answers.append(self._answer(self._done.get(timeout=timeout_s)))
            while True:
                answers.append(self._answer(self._done.get_nowait()))
        except queue.Empty:
            return answers

    def _answer(self, key: str) -> Answer:
        job, future = self._at_work.pop(key)
        if future.status == "finished":
            answer: dict[str, Any] = future.result()
            if "refused" in answer:
                raise OutputError(str(answer["refused"]))
            return job, answer["outcome"] and Outcome(**answer["outcome"])
        if future.status != "error" or not self._locks.acquire(job.folder):
            return job, None  # lost on the way: once more
        try:
            reason = f"The cluster gave it up: {future.exception()}"
            return job, set_aside(job, self._setup, "", reason)
        finally:
            self._locks.release(job.folder)

    def _refuse_other_versions(self) -> None:
        try:
            found = set(self.client.run(remote.version).values())
        except Exception as error:  # whatever a machine without formcheck raises
            raise UsageError(
                f"the cluster cannot run formcheck: {error}; install it there"
            ) from None
        if others := found - {__version__}:
            raise UsageError(
                f"the cluster has formcheck {', '.join(sorted(others))}, this machine "
                f"{__version__}; results would differ, so install the same everywhere"
            )


def _connect(address: str, closing: ExitStack) -> "Client":
    try:
        from distributed import Client, LocalCluster  # noqa: PLC0415 - an extra
    except ImportError:
        raise UsageError(
            "--cluster needs more than is installed; pip install 'formcheck[cluster]'"
        ) from None
    if not address.startswith(LOCAL):
        try:
            return closing.enter_context(Client(address, timeout=_CONNECT_S))
        except (OSError, ValueError) as error:
            raise UsageError(f"no cluster answers at {address}: {error}") from None
    number = address.removeprefix(LOCAL)
    if not number.isdecimal() or not 1 <= int(number) <= 1024:
        raise UsageError(f"--cluster {address}: write {LOCAL}4 for four processes on this machine")
    scratch = closing.enter_context(scratch_folder())
    cluster = LocalCluster(
        n_workers=int(number),
        threads_per_worker=1,
        dashboard_address=None,
        local_directory=str(scratch),
        silence_logs=logging.CRITICAL,
    )
    return closing.enter_context(Client(closing.enter_context(cluster)))
