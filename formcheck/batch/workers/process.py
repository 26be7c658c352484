"""One worker process as the batch sees it."""

import json
import os
import queue
import subprocess
import tempfile
import threading
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from time import monotonic
from typing import IO

from formcheck.batch.job import Job, Setup, to_json

WorkerMessage = tuple["WorkerProcess", bytes]
"""One line of a worker; an empty one when it has ended."""

START_S = 120.0
"""Time for a worker to load what it needs, on a busy machine. A proposal."""
_NOTES_BYTES = 4000
"""How much of what a worker wrote last is kept when it crashes. Mechanical."""


class WorkerProcess:
    """A process, its present job, and what it last said of it."""

    def __init__(self, command: Sequence[str], inbox: "queue.SimpleQueue[WorkerMessage]") -> None:
        self._notes = tempfile.TemporaryFile()  # noqa: SIM115  closed by stop()
        self._process = subprocess.Popen(  # noqa: S603  our own interpreter, and no shell
            list(command),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._notes,
            env=_environment(),
            start_new_session=True,  # an interrupt at the terminal is for the batch to handle
        )
        self._inbox = inbox
        self._ended = False
        self.job: Job | None = None
        self.ready = False
        self.key = ""
        self.share = 0.0
        self.time_s = self.deadline = 0.0
        self.checked = 0
        threading.Thread(target=self._listen, daemon=True).start()

    def start(self, job: Job, setup: Setup) -> None:
        """Give it a job."""
        self.job, self.key, self.share = job, "", 0.0
        self.time_s = setup.limits.time_s
        self.deadline = monotonic() + (self.time_s if self.ready else START_S)
        line = json.dumps(to_json(job, setup)) + "\n"
        with suppress(OSError):  # it has died, which is heard like any other end
            self._pipe.write(line.encode())
            self._pipe.flush()

    def is_ready(self) -> None:
        """It has begun; the time of its first job counts from now."""
        self.ready = True
        self.deadline = monotonic() + self.time_s

    def stop(self) -> tuple[int | None, str]:
        """End it at once; how it had ended by itself, if it had, and the last of its notes."""
        with suppress(subprocess.TimeoutExpired):
            self._process.wait(1.0 if self._ended else 0.0)  # its output may end just before it
        status = self._process.returncode
        self._process.kill()
        self._process.wait()
        with suppress(OSError):
            self._pipe.close()
        self._notes.seek(max(0, self._notes.seek(0, os.SEEK_END) - _NOTES_BYTES))
        notes = self._notes.read().decode("utf-8", "replace")
        self._notes.close()
        return status, notes

    def _listen(self) -> None:
        answers = self._process.stdout
        assert answers is not None
        with answers:
            for line in answers:
                self._inbox.put((self, line))
        self._ended = True
        self._inbox.put((self, b""))

    @property
    def _pipe(self) -> IO[bytes]:
        assert self._process.stdin is not None
        return self._process.stdin


def _environment() -> dict[str, str]:
    """Our own environment, with this formcheck to be found, and one core a worker."""
    package = str(Path(__file__).resolve().parents[3])
    path = os.environ.get("PYTHONPATH")
    one_core = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "MALLOC_ARENA_MAX": "2"}
    return {**os.environ, **one_core, "PYTHONPATH": os.pathsep.join(filter(None, (package, path)))}
