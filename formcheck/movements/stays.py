"""Stays: stretches in which the arm rests in one place, and the moves between them.

Compound sets of holds are read so. Their positions lie at very different heights and may follow
each other directly, so that one is neither a rise from rest nor like the next.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from formcheck.measures.timebase import runs
from formcheck.movements.excursions import QUIET, SMOOTHING_S
from formcheck.movements.signals import smoothed

FloatArray = NDArray[np.float64]

STILL_SHARE = 0.12
"""Share of the clip's quick movements under which the arm is taken to rest, before it is refined."""
MIN_STAY_S = 0.6
"""Passing through a place takes less."""
MIN_MOVE_SHARE = 0.5
"""Two rests less than this share of ``min_range`` apart are one, with a fidget between them."""


@dataclass(frozen=True, slots=True)
class Stay:
    """A rest from ``top_start_s`` to ``top_end_s``; the moves to and from it are around it.

    ``height`` is how far it stands from the nearer in level of the rests beside it; ``whole`` is
    False where the clip begins or ends in it.
    """

    start_s: float
    top_start_s: float
    top_end_s: float
    end_s: float
    height: float
    peak_speed: float
    whole: bool


def find_stays(time_s: FloatArray, signal: FloatArray, min_range: float) -> list[Stay]:
    """Rests of a gap-free ``signal`` (n,), sampled evenly at ``time_s`` (n,), in order of time."""
    if len(signal) < 5:
        return []
    step = float(time_s[1] - time_s[0])
    smooth = smoothed(signal, SMOOTHING_S / step)
    speed = np.abs(np.gradient(smooth, step))
    quiet = runs(speed <= STILL_SHARE * np.percentile(speed, 97))
    rests = [(a, b - 1) for a, b in quiet if (b - 1 - a) * step >= MIN_STAY_S]
    rests = _refined(_joined(rests, smooth, MIN_MOVE_SHARE * min_range), speed)
    return [_stay(time_s, smooth, speed, rests, number) for number in range(len(rests))]


def _joined(rests: list[tuple[int, int]], level: FloatArray, least: float) -> list[tuple[int, int]]:
    """Rests of one level joined, unless the arm went away and came back between them."""
    joined: list[tuple[int, int]] = []
    for start, stop in rests:
        if joined:
            first, last = joined[-1]
            between = level[last : start + 1]
            if max(np.ptp(between), abs(level[first] - level[stop])) < least:
                joined[-1] = (first, stop)
                continue
        joined.append((start, stop))
    return joined


def _refined(rests: list[tuple[int, int]], speed: FloatArray) -> list[tuple[int, int]]:
    """Ends of the rests moved to where each move falls under QUIET of its own greatest speed."""
    starts, stops = [a for a, _ in rests], [b for _, b in rests]
    for number, ((_, stop), (start, _)) in enumerate(pairwise(rests)):
        move = speed[stop : start + 1]
        top = int(np.argmax(move))
        still = move <= QUIET * move[top]
        before, after = np.flatnonzero(still[:top]), np.flatnonzero(still[top:])
        stops[number] = stop + int(before[-1]) if len(before) else _back(speed, stop, move[top])
        starts[number + 1] = (
            stop + top + int(after[0]) if len(after) else _on(speed, start, move[top])
        )
    return [(a, max(a, b)) for a, b in zip(starts, stops, strict=True)]


def _back(speed: FloatArray, index: int, fastest: float) -> int:
    while index > 0 and speed[index] > QUIET * fastest:
        index -= 1
    return index


def _on(speed: FloatArray, index: int, fastest: float) -> int:
    while index < len(speed) - 1 and speed[index] > QUIET * fastest:
        index += 1
    return index


def _stay(
    time_s: FloatArray,
    level: FloatArray,
    speed: FloatArray,
    rests: list[tuple[int, int]],
    number: int,
) -> Stay:
    first, last = rests[number]
    start = rests[number - 1][1] if number else 0
    end = rests[number + 1][0] if number + 1 < len(rests) else len(level) - 1
    own = float(np.median(level[first : last + 1]))
    return Stay(
        start_s=float(time_s[start]),
        top_start_s=float(time_s[first]),
        top_end_s=float(time_s[last]),
        end_s=float(time_s[end]),
        height=min(abs(own - float(level[start])), abs(own - float(level[end]))),
        peak_speed=float(speed[start : end + 1].max()),
        whole=first > 0 and last < len(level) - 1,
    )
