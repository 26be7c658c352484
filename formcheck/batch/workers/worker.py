"""A worker process: jobs come in on standard input, what becomes of them goes out, as JSON lines.

Clips are decoded here and nowhere else in a batch. Whatever a hostile file does, it does to this
process, which has limits and which the batch replaces. It ends by itself when its batch does.
"""

import json
import os
import queue
import sys
import threading
from dataclasses import asdict
from time import monotonic
from typing import Any, TextIO

from formcheck.batch.job import from_json
from formcheck.batch.locks import FolderLocks
from formcheck.batch.workers.work import Check, run_job
from formcheck.errors import FormcheckError
from formcheck.heap import keep_one_heap
from formcheck.pipeline.check import check_clip

_SHARE_EVERY_S = 0.25
"""Time between two messages of how far a clip is. Mechanical."""


def main(check: Check = check_clip) -> None:
    """Do jobs until standard input ends."""
    keep_one_heap()
    answers = _private_stdout()
    lines: queue.SimpleQueue[str] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(lines,), daemon=True).start()
    locks: FolderLocks | None = None
    _send(answers, {"ready": True})
    while True:
        job, setup = from_json(json.loads(lines.get()))
        progress = _ProgressSender(answers)
        try:
            locks = locks or FolderLocks(setup.out)
            limit_memory(setup.limits.memory_mb)
            outcome = run_job(job, setup, locks, progress.send, check=check)
            answer: dict[str, Any] = {"outcome": asdict(outcome) if outcome else None}
        except FormcheckError as error:
            answer = {"refused": str(error)}
        _send(answers, answer)


def limit_memory(memory_mb: int) -> None:
    """Keep this process below so much address space, and from dumping its memory when it crashes.

    Does nothing where the system has no such limit.
    """
    try:
        import resource  # noqa: PLC0415 - not on Windows
    except ImportError:
        return
    for kind, wanted in ((resource.RLIMIT_AS, memory_mb * 2**20), (resource.RLIMIT_CORE, 0)):
        hard = resource.getrlimit(kind)[1]
        soft = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
        try:
            resource.setrlimit(kind, (soft, hard))
        except (OSError, ValueError):  # macOS refuses some limits
            continue


class _ProgressSender:
    """Passes progress on, shares done not more often than a person can see."""

    def __init__(self, answers: TextIO) -> None:
        self._answers = answers
        self._sent_at = 0.0

    def send(self, message: dict[str, Any]) -> None:
        if "share" in message:
            if monotonic() - self._sent_at < _SHARE_EVERY_S:
                return
            self._sent_at = monotonic()
        _send(self._answers, message)


def _send(answers: TextIO, message: dict[str, Any]) -> None:
    answers.write(json.dumps(message) + "\n")
    answers.flush()


def _private_stdout() -> TextIO:
    """Standard output for answers alone; whatever else is printed goes to standard error."""
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    return answers


def _listen(lines: "queue.SimpleQueue[str]") -> None:
    for line in sys.stdin:
        lines.put(line)
    os._exit(0)  # the batch is over or was killed; nothing half-written counts


if __name__ == "__main__":
    main()
