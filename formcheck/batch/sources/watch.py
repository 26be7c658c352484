"""Watching a folder: clips become jobs once they have stopped growing."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from time import monotonic

from formcheck.batch.job import Job
from formcheck.batch.sources.source import Clip, find_clips

LOOK_EVERY_S = 2.0
"""Time between two looks at the folder. Mechanical."""
QUIET_S = 6.0
"""A clip that has not changed for so long is taken for whole. One that grows on is done again.
A proposal."""


@dataclass(slots=True)
class _Seen:
    size: int
    changed_ns: int
    since_s: float
    given: bool = False


class Watch:
    """A feed that never ends: each clip of a folder, and again whenever it has changed."""

    def __init__(
        self,
        folder: Path,
        out: Path,
        job_of: Callable[[Clip], Job],
        *,
        look_every_s: float = LOOK_EVERY_S,
        quiet_s: float = QUIET_S,
    ) -> None:
        self._folder = folder
        self._out = out
        self._job_of = job_of
        self._look_every_s = look_every_s
        self._quiet_s = quiet_s
        self._seen: dict[str, _Seen] = {}
        self._next_look_s = 0.0

    @property
    def exhausted(self) -> bool:
        """Never."""
        return False

    def new_jobs(self) -> Iterable[Job]:
        """Clips that have been still for long enough since they last changed."""
        now_s = monotonic()
        if now_s < self._next_look_s:
            return []
        self._next_look_s = now_s + self._look_every_s
        clips = find_clips(str(self._folder), self._out).clips
        before, self._seen = self._seen, {}
        jobs = []
        for clip in clips:
            seen = self._look(clip, before.get(clip.place), now_s)
            if seen is None:
                continue
            self._seen[clip.place] = seen
            if not seen.given and seen.size and now_s - seen.since_s >= self._quiet_s:
                seen.given = True
                jobs.append(self._job_of(clip))
        return jobs

    @staticmethod
    def _look(clip: Clip, before: _Seen | None, now_s: float) -> _Seen | None:
        try:
            found = Path(clip.place).stat()
        except OSError:
            return None  # gone since it was listed
        same = before and (before.size, before.changed_ns) == (found.st_size, found.st_mtime_ns)
        return before if same else _Seen(found.st_size, found.st_mtime_ns, now_s)
