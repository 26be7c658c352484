"""Rounds through the parts of a compound exercise: what each left out, and in which order it came."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations

from formcheck.exercises.schema import Exercise
from formcheck.movements.circle_reps import runs_of
from formcheck.movements.types import Rep

LEFT_OUT_COST, SWAP_COST = 6.0, 8.0
"""Twice the negative logarithm of how often a part is left out (5 %) or a pair swapped (2 %)."""
NEVER = 1e3
OPEN_COST = 4.0
"""Evidence of less than this, in the same measure, leaves open what it was: 7 to 1 (a proposal)."""
MAX_BEFORE_S = 3.0
"""What was broken off so shortly before the first part of a round belongs to that round."""


@dataclass(frozen=True, slots=True)
class Cycle:
    """One round through the parts.

    ``missing`` are the names of the parts left out. They are ``certain`` to be if nothing broken
    off or unrecognised lies in the round that could have been one of them, and no repetition could
    be one as well. ``in_order`` is False where the parts came in another order than asked for;
    ``open_order`` are the parts of which the camera cannot tell whether they changed places.
    ``short`` has the parts with fewer circles than asked for: name, circles done, circles asked for.
    """

    reps: tuple[Rep, ...]
    missing: tuple[str, ...]
    certain: bool
    in_order: bool
    open_order: tuple[str, ...] = ()
    short: tuple[tuple[str, int, int], ...] = ()

    @property
    def whole(self) -> bool:
        """Whether no part was left out or had too few circles."""
        return not self.missing and not self.short


def cycles_of(exercise: Exercise, reps: Sequence[Rep]) -> tuple[Cycle, ...]:
    """Labelled repetitions of one side, in order of time, parted into rounds."""
    order = [part.name for part in exercise.parts]
    whole = [rep for rep in reps if not rep.partial and rep.part in order]
    visits = [
        visit
        for run in runs_of(whole)
        for visit in ([run] if run[0].kind == "circle" else [(rep,) for rep in run])
    ]
    sure = [tuple(0.0 if visit[0].part == name else NEVER for name in order) for visit in visits]
    stops = [0]
    for one in parted(sure):
        stops.append(stops[-1] + len(one))
    return tuple(
        _cycle(
            exercise,
            reps,
            visits[start:stop],
            visits[stop][0].start_s if stop < len(visits) else None,
        )
        for start, stop in pairwise(stops)
    )


def parted(misfits: Sequence[tuple[float, ...]]) -> list[tuple[int, ...]]:
    """Rounds of places in the order of the parts, from the misfits of each repetition to each part.

    Of all ways to name the repetitions and to part them into rounds, with no part twice in a
    round, the likeliest: misfits are standard uncertainties, so that their squares add up with
    what it costs to suppose that a part was left out or came out of order.
    """
    return best_rounds(misfits)[1]


def best_rounds(misfits: Sequence[tuple[float, ...]]) -> tuple[float, list[tuple[int, ...]]]:
    """The cheapest rounds, and what they cost."""
    best: list[tuple[float, list[tuple[int, ...]]]] = [(0.0, [])]  # of the first n repetitions
    for stop in range(1, len(misfits) + 1):
        options = []
        for start in range(max(stop - len(misfits[0]), 0), stop):
            cost, places = _named(misfits[start:stop])
            options.append((best[start][0] + cost, [*best[start][1], places]))
        best.append(min(options, key=lambda option: (option[0], len(option[1]))))
    return best[-1]


def _named(misfits: Sequence[tuple[float, ...]]) -> tuple[float, tuple[int, ...]]:
    """The cheapest way to name the repetitions of one round, and its cost."""
    return min((seen + supposed, places) for seen, supposed, places in _ways(misfits))


def _ways(misfits: Sequence[tuple[float, ...]]) -> Iterator[tuple[float, float, tuple[int, ...]]]:
    """Every way to name the repetitions of one round: what speaks against it, and what it supposes."""
    parts = len(misfits[0])
    for places in permutations(range(parts), len(misfits)):
        supposed = LEFT_OUT_COST * (parts - len(places))
        supposed += SWAP_COST * _exchanges(places)
        yield _against(misfits, places), supposed, places


def _exchanges(places: Sequence[int]) -> int:
    """How many pairs must change places to put them in order."""
    left, count = list(places), 0
    for position, place in enumerate(sorted(left)):
        found = left.index(place)
        if found != position:
            left[position], left[found] = left[found], left[position]
            count += 1
    return count


def _against(misfits: Sequence[tuple[float, ...]], places: Sequence[int]) -> float:
    return sum(row[place] ** 2 for row, place in zip(misfits, places, strict=True))


def _cycle(
    exercise: Exercise,
    reps: Sequence[Rep],
    visits: Sequence[tuple[Rep, ...]],
    next_s: float | None,
) -> Cycle:
    order = [part.name for part in exercise.parts]
    asked = {part.name: part.count for part in exercise.parts}
    names = [visit[0].part or "" for visit in visits]
    missing = tuple(name for name in order if name not in names)
    doubtful = [
        rep
        for rep in reps
        if rep.partial
        and rep.part in (None, *missing)
        and visits[0][0].start_s - MAX_BEFORE_S <= rep.end_s
        and (next_s is None or rep.start_s < next_s)
    ]
    open_order, maybe = _left_open(order, names, [visit[0].misfits for visit in visits])
    return Cycle(
        reps=tuple(rep for visit in visits for rep in visit),
        missing=missing,
        certain=not doubtful and not maybe,
        in_order=names == [name for name in order if name in names],
        open_order=open_order,
        short=tuple(
            (name, len(visit), least)
            for name, visit in zip(names, visits, strict=True)
            if (least := asked[name]) is not None and len(visit) < least
        ),
    )


def _left_open(
    order: Sequence[str], names: Sequence[str], misfits: Sequence[tuple[float, ...]]
) -> tuple[tuple[str, ...], bool]:
    """The parts that may have changed places, and whether a missing part may be one of those seen.

    For the order only what was seen counts, not that it was asked for.
    """
    if not all(misfits):
        return (), False
    chosen = tuple(order.index(name) for name in names)
    seen = _against(misfits, chosen)
    swapped = {
        order[place]
        for places in permutations(chosen)
        if _against(misfits, places) < seen + OPEN_COST
        for place, mine in zip(places, chosen, strict=True)
        if place != mine
    }
    costs = {places: against + supposed for against, supposed, places in _ways(misfits)}
    maybe = any(
        cost < costs[chosen] + OPEN_COST and set(places) != set(chosen)
        for places, cost in costs.items()
    )
    return tuple(name for name in order if name in swapped), maybe
