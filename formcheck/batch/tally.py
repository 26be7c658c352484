"""How far a batch has come."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from time import monotonic

from formcheck.batch.job import Job, Outcome
from formcheck.batch.ledger import size_of

_ALMOST = 0.99
"""The most that is shown while a clip is at work: its pages come after its pictures. Mechanical."""


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
    _finished: set[str] = field(default_factory=set)

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
        self._finished.add(outcome.folder)
        self.done += 1
        self.total = max(self.total, self.done)
        if outcome.cached:
            self.cached += 1
        else:
            self._worked += size
            self.frames += outcome.frames

    def at_work(self, shares: Mapping[str, float]) -> None:
        """Take in how far the clips at work are."""
        self._half_done = sum(
            self.sizes.get(name, 0) * share
            for name, share in shares.items()
            if name not in self._finished
        )

    @property
    def share(self) -> float:
        """Share of the work that is done, 0-1."""
        whole = sum(self.sizes.values())
        done = 1.0 - max(self._left - self._half_done, 0.0) / whole if whole else 0.0
        return min(done, _ALMOST) if self.done < self.total else done

    @property
    def frames_per_s(self) -> float:
        """Pictures of finished clips a second, over all workers."""
        return self.frames / max(monotonic() - self.started_s, 1e-6)

    @property
    def seconds_left(self) -> float | None:
        """About how long the rest will take; None while the pace is not known, and below one second."""
        worked = self._worked + self._half_done
        if worked <= 0:
            return None
        pace = worked / max(monotonic() - self.started_s, 1e-6)
        left_s = max(self._left - self._half_done, 0.0) / pace
        return left_s if left_s >= 1 else None
