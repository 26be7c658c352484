"""Plateaus: stretches in which the arm rests in one place, and the moves between them.

They are used for compound sets of holds, whose positions lie at very different heights and may follow
each other without a return to rest, so that they are no excursions alike.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.measures.timebase import runs
from formcheck.movements.excursions import MIN_SAMPLES, QUIET, SMOOTHING_S
from formcheck.movements.signals import smoothed

STILL_SHARE = 0.12
"""Share of the clip's quick movements under which the arm is taken to rest, before it is refined.
A proposal."""
QUICK_PERCENTILE = 97.0
"""The speed of the clip's quick movements, but for single bad readings. A proposal."""
MIN_PLATEAU_S = 0.6
"""Passing through a place takes less. A proposal."""
MIN_MOVE_SHARE = 0.5
"""Two rests less than this share of ``min_range`` apart are one, with a fidget between them.
A proposal."""


@dataclass(frozen=True, slots=True)
class Plateau:
    """A rest from ``top_start_s`` to ``top_end_s``; the moves to and from it are around it.

    ``height`` is how far it stands from the nearer in level of the rests beside it; ``complete`` is
    False where the clip begins or ends in it.
    """

    start_s: float
    top_start_s: float
    top_end_s: float
    end_s: float
    height: float
    peak_speed: float
    complete: bool


_Range = tuple[int, int]
"""Index of the first and of the last sample of a rest."""


def find_plateaus(time_s: FloatArray, signal: FloatArray, min_range: float) -> list[Plateau]:
    """Rests of a gap-free ``signal`` (n,), sampled evenly at ``time_s`` (n,), in order of time."""
    if len(signal) < MIN_SAMPLES:
        return []
    step = float(time_s[1] - time_s[0])
    level = smoothed(signal, SMOOTHING_S / step)
    speed = np.abs(np.gradient(level, step))
    still = runs(speed <= STILL_SHARE * np.percentile(speed, QUICK_PERCENTILE))
    rests = [(a, b - 1) for a, b in still if (b - 1 - a) * step >= MIN_PLATEAU_S]
    rests = _refined(_joined(rests, level, MIN_MOVE_SHARE * min_range), speed)
    return [_plateau(time_s, level, speed, rests, number) for number in range(len(rests))]


def _joined(rests: list[_Range], level: FloatArray, least: float) -> list[_Range]:
    """Rests of one level joined, unless the arm went away and came back between them."""
    joined: list[_Range] = []
    for start, stop in rests:
        if joined:
            first, last = joined[-1]
            between = level[last : start + 1]
            if max(np.ptp(between), abs(level[first] - level[stop])) < least:
                joined[-1] = (first, stop)
                continue
        joined.append((start, stop))
    return joined


def _refined(rests: list[_Range], speed: FloatArray) -> list[_Range]:
    """Ends of the rests moved to where each move falls under QUIET of its own greatest speed."""
    starts, stops = [a for a, _ in rests], [b for _, b in rests]
    for number, ((_, stop), (start, _)) in enumerate(pairwise(rests)):
        move = speed[stop : start + 1]
        fastest = int(np.argmax(move))
        quiet_speed = QUIET * move[fastest]
        quiet = move <= quiet_speed
        before, after = np.flatnonzero(quiet[:fastest]), np.flatnonzero(quiet[fastest:])
        stops[number] = (
            stop + int(before[-1]) if len(before) else _last_quiet(speed, stop, quiet_speed)
        )
        starts[number + 1] = (
            stop + fastest + int(after[0])
            if len(after)
            else _first_quiet(speed, start, quiet_speed)
        )
    return [(a, max(a, b)) for a, b in zip(starts, stops, strict=True)]


def _last_quiet(speed: FloatArray, index: int, quiet_speed: float) -> int:
    """The nearest index at or before ``index`` that is quiet, or the first."""
    while index > 0 and speed[index] > quiet_speed:
        index -= 1
    return index


def _first_quiet(speed: FloatArray, index: int, quiet_speed: float) -> int:
    """The nearest index at or after ``index`` that is quiet, or the last."""
    while index < len(speed) - 1 and speed[index] > quiet_speed:
        index += 1
    return index


def _plateau(
    time_s: FloatArray, level: FloatArray, speed: FloatArray, rests: list[_Range], number: int
) -> Plateau:
    first, last = rests[number]
    start = rests[number - 1][1] if number else 0
    end = rests[number + 1][0] if number + 1 < len(rests) else len(level) - 1
    own = float(np.median(level[first : last + 1]))
    return Plateau(
        start_s=float(time_s[start]),
        top_start_s=float(time_s[first]),
        top_end_s=float(time_s[last]),
        end_s=float(time_s[end]),
        height=min(abs(own - float(level[start])), abs(own - float(level[end]))),
        peak_speed=float(speed[start : end + 1].max()),
        complete=first > 0 and last < len(level) - 1,
    )
