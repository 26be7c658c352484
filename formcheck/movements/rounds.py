"""Rounds through the parts of a compound exercise: what each left out, and in which order it came."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations

from formcheck.exercises.schema import Exercise
from formcheck.movements.assignment import (
    INFEASIBLE,
    Distances,
    assignments,
    mismatch,
    segment_rounds,
)
from formcheck.movements.types import Rep
from formcheck.movements.visits import Visit, visits_of

OPEN_COST = 4.0
"""Evidence of less than this, in twice a log likelihood, leaves open what it was: 7 to 1.
A proposal."""
MAX_BEFORE_S = 3.0
"""What was broken off so shortly before the first part of a round belongs to that round.
A proposal."""


@dataclass(frozen=True, slots=True)
class ShortPart:
    """A part with fewer circles than asked for."""

    part: str
    done: int
    asked: int


@dataclass(frozen=True, slots=True)
class Round:
    """One round through the parts.

    ``missing`` are the names of the parts left out. They are ``certain`` to be if nothing broken
    off or unrecognised lies in the round that could have been one of them, and no repetition could
    be one as well. ``in_order`` is False where the parts came in another order than asked for;
    ``open_order`` are the parts of which the camera cannot tell whether they changed places.
    ``short`` are the parts with too few circles.
    """

    reps: tuple[Rep, ...]
    missing: tuple[str, ...]
    certain: bool
    in_order: bool
    open_order: tuple[str, ...] = ()
    short: tuple[ShortPart, ...] = ()

    @property
    def whole(self) -> bool:
        """Whether no part was left out or had too few circles."""
        return not self.missing and not self.short


def rounds_of(exercise: Exercise, reps: Sequence[Rep]) -> tuple[Round, ...]:
    """Labelled repetitions of one side, in order of time, divided into rounds."""
    order = [part.name for part in exercise.parts]
    visits = visits_of([rep for rep in reps if not rep.partial and rep.part in order])
    as_named = [
        tuple(0.0 if visit.span.part == name else INFEASIBLE for name in order) for visit in visits
    ]
    stops = [0]
    for parts in segment_rounds(as_named).rounds:
        stops.append(stops[-1] + len(parts))
    return tuple(
        _round(
            exercise,
            reps,
            visits[start:stop],
            visits[stop].span.start_s if stop < len(visits) else None,
        )
        for start, stop in pairwise(stops)
    )


def _round(
    exercise: Exercise, reps: Sequence[Rep], visits: Sequence[Visit], next_s: float | None
) -> Round:
    order = [part.name for part in exercise.parts]
    asked = {part.name: part.count for part in exercise.parts}
    names = [visit.span.part or "" for visit in visits]
    missing = tuple(name for name in order if name not in names)
    doubtful = any(
        rep.partial
        and rep.part in (None, *missing)
        and visits[0].span.start_s - MAX_BEFORE_S <= rep.end_s
        and (next_s is None or rep.start_s < next_s)
        for rep in reps
    )
    chosen = tuple(order.index(name) for name in names)
    distances = [visit.span.place_distances for visit in visits]
    return Round(
        reps=tuple(rep for visit in visits for rep in visit.reps),
        missing=missing,
        certain=not doubtful and not _other_parts_likely(distances, chosen),
        in_order=names == [name for name in order if name in names],
        open_order=tuple(order[part] for part in sorted(_exchangeable(distances, chosen))),
        short=tuple(
            ShortPart(name, len(visit.reps), least)
            for name, visit in zip(names, visits, strict=True)
            if (least := asked[name]) is not None and len(visit.reps) < least
        ),
    )


def _exchangeable(distances: Sequence[Distances], chosen: tuple[int, ...]) -> set[int]:
    """The parts that may have changed places. Only what was seen counts, not what was asked for."""
    if not all(distances):
        return set()
    limit = mismatch(distances, chosen) + OPEN_COST
    return {
        part
        for parts in permutations(chosen)
        if mismatch(distances, parts) < limit
        for part, mine in zip(parts, chosen, strict=True)
        if part != mine
    }


def _other_parts_likely(distances: Sequence[Distances], chosen: tuple[int, ...]) -> bool:
    """Whether a missing part may be one of those that were seen."""
    if not all(distances):
        return False
    costs = {one.parts: one.cost for one in assignments(distances)}
    limit = costs[chosen] + OPEN_COST
    return any(cost < limit and set(parts) != set(chosen) for parts, cost in costs.items())
