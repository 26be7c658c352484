"""Which part of a compound exercise each visit was, and where each round begins.

Every visit has a distance to the place of each part, in standard uncertainties. Of all ways to name
the visits and to divide them into rounds, with no part twice in a round, the likeliest is taken: the
one of least cost. A cost is twice a negative logarithm of a probability, as a squared distance is, so
that what is seen and what has to be supposed (a part left out, parts out of order) add up.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations
from typing import NamedTuple

LEFT_OUT_COST = 6.0
"""Twice the negative logarithm of how often a part is left out: 5 %. A proposal."""
SWAP_COST = 8.0
"""Twice the negative logarithm of how often two parts are swapped: 2 %. A proposal."""
INFEASIBLE = 1e3
"""The distance to a part that a visit cannot be, far over any cost. Mechanical."""

Distances = tuple[float, ...]
"""How far one visit is from the place of each part, in the order of the parts."""


class Assignment(NamedTuple):
    """One way to name the visits of a round: ``parts`` has the index of each visit's part.

    ``mismatch`` is what the distances say against it, ``prior`` what it costs to suppose it.
    (A tuple, which is made quickly, as there are very many of them.)
    """

    parts: tuple[int, ...]
    mismatch: float
    prior: float

    @property
    def cost(self) -> float:
        """All that speaks against it."""
        return self.mismatch + self.prior


@dataclass(frozen=True, slots=True)
class Segmentation:
    """Visits divided into rounds, each with the indices of its parts, and what that costs in all."""

    cost: float
    rounds: tuple[tuple[int, ...], ...]


def segment_rounds(distances: Sequence[Distances]) -> Segmentation:
    """The rounds of least cost, by dynamic programming over the number of visits."""
    best = [Segmentation(0.0, ())]  # of the first n visits
    for stop in range(1, len(distances) + 1):
        options = []
        for start in range(max(stop - len(distances[0]), 0), stop):
            last = best_assignment(distances[start:stop])
            before = best[start]
            options.append(Segmentation(before.cost + last.cost, (*before.rounds, last.parts)))
        best.append(min(options, key=lambda option: (option.cost, len(option.rounds))))
    return best[-1]


def best_assignment(distances: Sequence[Distances]) -> Assignment:
    """The way to name the visits of one round that costs least."""
    return min(assignments(distances), key=lambda one: (one.cost, one.parts))


def assignments(distances: Sequence[Distances]) -> Iterator[Assignment]:
    """Every way to name the visits of one round."""
    count = len(distances[0])
    for parts in permutations(range(count), len(distances)):
        prior = LEFT_OUT_COST * (count - len(parts)) + SWAP_COST * swap_count(parts)
        yield Assignment(parts, mismatch(distances, parts), prior)


def mismatch(distances: Sequence[Distances], parts: Sequence[int]) -> float:
    """What is seen against the visits having been these parts: the sum of squared distances."""
    return sum(row[part] ** 2 for row, part in zip(distances, parts, strict=True))


def swap_count(parts: Sequence[int]) -> int:
    """How many pairs must change places to put the parts in order."""
    left, count = list(parts), 0
    for position, part in enumerate(sorted(left)):
        found = left.index(part)
        if found != position:
            left[position], left[found] = left[found], left[position]
            count += 1
    return count
