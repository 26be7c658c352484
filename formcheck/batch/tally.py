"""How far a batch has come."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from time import monotonic

from formcheck.batch.job import Job, Outcome
from formcheck.batch.record import size_of


@dataclass(slots=True)
class Tally:
    """Counts of a batch. Work is reckoned by the size of the clips, which is known at once."""

    total: int
    sizes: dict[str, int]
    done: int = 0
    cached: int = 0
    frames: int = 0
    started_s: float = 0.0
    _worked: float = 0.0
    _left: float = 0.0
    _half_done: float = 0.0

    @classmethod
    def of(cls, jobs: Iterable[Job], started_s: float) -> "Tally":
        """A tally of jobs of which none is done yet."""
        sizes = {job.folder: max(size_of(job.clip), 1) for job in jobs}
        left = sum(sizes.values())
        return cls(total=len(sizes), sizes=sizes, started_s=started_s, _left=left)

    def add(self, outcome: Outcome) -> None:
        """Count an outcome."""
        size = self.sizes.get(outcome.folder, 0)
        self._left -= size
        self.done += 1
        self.total = max(self.total, self.done)
        if outcome.cached:
            self.cached += 1
        else:
            self._worked += size
            self.frames += outcome.frames

    def at_work(self, shares: Mapping[str, float]) -> None:
        """Take in how far the clips at work are."""
        self._half_done = sum(self.sizes.get(name, 0) * share for name, share in shares.items())

    @property
    def share(self) -> float:
        """Share of the work that is done, 0-1."""
        whole = sum(self.sizes.values())
        return 1.0 - max(self._left - self._half_done, 0.0) / whole if whole else 0.0

    @property
    def frames_per_s(self) -> float:
        """Pictures of finished clips a second, over all workers."""
        return self.frames / max(monotonic() - self.started_s, 1e-6)

    @property
    def seconds_left(self) -> float | None:
        """About how long the rest will take; None while nothing is known of the pace."""
        worked = self._worked + self._half_done
        if worked <= 0:
            return None
        pace = worked / max(monotonic() - self.started_s, 1e-6)
        return max(self._left - self._half_done, 0.0) / pace
