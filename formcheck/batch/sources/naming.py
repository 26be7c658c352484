"""Names of result folders in a batch, each clip's own from run to run."""

import hashlib
import json
import os
from dataclasses import replace
from pathlib import Path
from typing import Any

from formcheck.batch.job import Job
from formcheck.batch.ledger import owner_of, size_of
from formcheck.result_folder import safe_name


class Namer:
    """Gives each job of a batch its folder: the clip's own name, or that and a short code.

    A folder that is there belongs to the clip that its record names; other clips of that name get
    the code. So names stay the same from run to run, whatever is added.
    """

    def __init__(self, out: Path) -> None:
        self._out = out
        self._taken: dict[str, dict[str, str]] = {}

    def named(self, job: Job) -> Job:
        """The job with its folder, and one for its second clip where it has one."""
        job = replace(job, folder=self.name(job))
        if not job.second:
            return job
        other = replace(job.of_second, shown=f"{Path(job.shown).stem}-second.mp4")
        return replace(job, second_folder=self.name(other))

    def name(self, job: Job) -> str:
        """The folder for a job; the same for equal jobs."""
        plain = safe_name(Path(job.shown).stem)
        if self._free(plain, job):
            chosen = plain
        else:
            text = json.dumps(job.identity, sort_keys=True)
            chosen = f"{plain}-{hashlib.sha256(text.encode()).hexdigest()[:8]}"
        self._taken[chosen.casefold()] = job.identity
        return chosen

    def _free(self, name: str, job: Job) -> bool:
        taken = self._taken.get(name.casefold())
        if taken is not None:
            return taken == job.identity
        owner = owner_of(self._out, name)
        if owner is None:
            return not os.path.lexists(self._out / name)
        return job.identity.items() <= owner.items() or _named(owner, job) or _moved(owner, job)


def _named(owner: dict[str, Any], job: Job) -> bool:
    """Whether the clip's exercise was left open before and is said now."""
    return not owner["exercise"] and owner["clip"] == job.clip


def _moved(owner: dict[str, Any], job: Job) -> bool:
    """Whether the clip of a folder has left and this is the same one in a new place."""
    if "://" in owner["clip"] or os.path.lexists(owner["clip"]):
        return False
    same_work = all(owner[k] == job.identity[k] for k in ("exercise", "side"))
    same_name = Path(owner["clip"]).name == Path(job.clip).name
    return same_work and same_name and owner["bytes"] == size_of(job.clip)
