"""The loop of a batch: jobs in, outcomes out, until there is nothing left to do."""

import threading
from collections import deque
from collections.abc import Iterable, Iterator
from time import monotonic
from typing import Protocol

from formcheck.batch.job import Job, Outcome
from formcheck.batch.workers.pool import Executor

ASK_AGAIN_S = 1.0
"""Pause before a clip that another process is at work on is looked at again. Mechanical."""
_POLL_S = 0.2
"""Longest wait for an answer, between two looks for new jobs. Mechanical."""


class Feed(Protocol):
    """Where jobs come from."""

    def new_jobs(self) -> Iterable[Job]:
        """Jobs that have come up since the last call."""
        ...

    @property
    def exhausted(self) -> bool:
        """Whether no more will come."""
        ...


class Fixed:
    """A feed of jobs that are all known."""

    def __init__(self, jobs: Iterable[Job]) -> None:
        self._jobs = list(jobs)

    def new_jobs(self) -> Iterable[Job]:
        """All jobs, the first time."""
        jobs, self._jobs = self._jobs, []
        return jobs

    @property
    def exhausted(self) -> bool:
        """Whether they have been handed on."""
        return not self._jobs


def outcomes(feed: Feed, executor: Executor, stop: threading.Event) -> Iterator[Outcome | None]:
    """Do all jobs of a feed and give each outcome as it comes; None now and then in between.

    Once ``stop`` is set nothing more is started and the loop ends; what is at work then is for the
    executor to drop. Raises UsageError where nothing can be done at all.
    """
    waiting: deque[Job] = deque()
    elsewhere: deque[tuple[float, Job]] = deque()
    while not stop.is_set():
        waiting.extend(feed.new_jobs())
        while elsewhere and elsewhere[0][0] <= monotonic():
            waiting.append(elsewhere.popleft()[1])
        while waiting and executor.free > 0:
            executor.submit(waiting.popleft())
        if feed.exhausted and not (waiting or elsewhere or executor.shares):
            return
        for job, outcome in executor.poll(_POLL_S):
            if outcome is None:
                elsewhere.append((monotonic() + ASK_AGAIN_S, job))
            else:
                yield outcome
        yield None
