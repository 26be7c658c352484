"""Repetitions that both arms do at once: joined, so that they count once."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from formcheck.catalogue.quantity import Quantity
from formcheck.movements.types import Rep

OVERLAP_SHARE = 0.5
"""Two arms that move together for at least this share of the shorter repetition do it at once; in
turn, one begins when the other is back. A proposal."""


def joined(reps: Sequence[Rep]) -> list[Rep]:
    """Repetitions of each side, in order of time, with those that overlap joined two by two."""
    left = [rep for rep in reps if rep.side == "left"]
    right = [rep for rep in reps if rep.side == "right"]
    pairs = list(_pairs(left, right))
    paired = {id(rep) for pair in pairs for rep in pair}
    alone = [rep for rep in reps if id(rep) not in paired]
    return sorted([*alone, *(_as_one(*pair) for pair in pairs)], key=lambda rep: rep.start_s)


def _pairs(left: Sequence[Rep], right: Iterable[Rep]) -> Iterator[tuple[Rep, Rep]]:
    """Each right repetition with the left one that overlaps it most, if they are done at once."""
    free = list(left)
    for rep in right:
        nearest = max(free, key=lambda other: _overlap_share(other, rep), default=None)
        if nearest is not None and _at_once(nearest, rep):
            free.remove(nearest)
            yield nearest, rep


def _at_once(one: Rep, other: Rep) -> bool:
    """An arm that only rests does not do what the other does."""
    alike = (one.direction, one.reason) == (other.direction, other.reason)
    return alike and _overlap_share(one, other) >= OVERLAP_SHARE


def _overlap_share(one: Rep, other: Rep) -> float:
    """Share of the shorter repetition in which both are under way; negative where they are apart."""
    overlap_s = min(one.end_s, other.end_s) - max(one.start_s, other.start_s)
    return overlap_s / max(min(one.end_s - one.start_s, other.end_s - other.start_s), _TINY_S)


_TINY_S = 1e-6
"""Keeps a division by the time of a repetition safe. Mechanical."""


def _as_one(left: Rep, right: Rep) -> Rep:
    """One repetition of both arms, under way while either is, and at the top while both are.

    It is whole if either arm's is: of the other, the camera may have seen too little.
    """
    top_start_s = max(left.top_start_s, right.top_start_s)
    holds_s = [rep.hold_s for rep in (left, right) if rep.hold_s is not None]
    return replace(
        left,
        side="both",
        partial=left.partial and right.partial,
        start_s=min(left.start_s, right.start_s),
        top_start_s=top_start_s,
        top_end_s=max(top_start_s, min(left.top_end_s, right.top_end_s)),
        end_s=max(left.end_s, right.end_s),
        hold_s=min(holds_s) if holds_s else None,
        measures=_measures(left.measures, right.measures),
        arms=(left, right),
    )


def _measures(left: Mapping[str, Quantity], right: Mapping[str, Quantity]) -> dict[str, Quantity]:
    """The measures of both: the shorter hold, and otherwise their mean.

    One model reads both arms, and its errors are correlated: the mean is no surer than either.
    """
    both = {}
    for name in left.keys() & right.keys():
        one, other = left[name], right[name]
        value = (one.value + other.value) / 2
        if name == "hold":
            value = min(one.value, other.value)
        both[name] = Quantity(value, max(one.sd, other.sd), one.unit)
    return both
