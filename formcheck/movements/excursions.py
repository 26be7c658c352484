"""Excursions of one signal: away from its resting level, a top, and back.

The rule, for a signal that rises in the effort:
1. a top is a maximum (or plateau) that stands out from the valleys beside it by at least
   ``min_range`` and by SHARE of what is typical in this clip;
2. its height is counted from the higher of the two valleys beside it, so that a change of level
   (bringing the hand into place) does not count as effort;
3. the effort begins, and the top begins and ends, and the return ends, where the speed of that flank
   falls under QUIET of its own greatest speed.
"""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.movements.signals import smoothed

SHARE = 0.5
"""A repetition reaches at least this share of the clip's typical excursion; less is partial.
A proposal."""
PROMINENCE_SHARE = 0.8
"""A top stands out by at least this share of what a whole repetition reaches: less does not separate two.
A proposal."""
PARTIAL_SHARE = 0.25
"""Less than this share is not even a broken-off repetition. A proposal."""
TYPICAL_QUANTILE = 0.75
"""Of the heights in a clip, this one is typical: robust to fidgets below it and, in sets of four or
more, to one big reach. A proposal."""
QUIET = 0.07
"""Share of a flank's greatest speed under which it counts as still. A proposal."""
SMOOTHING_S = 0.07
"""Spread of the Gaussian window that the signal is smoothed by. A proposal."""
END_SHARE = 0.25
"""A flank leaves its foot in the lowest, and arrives in the highest, such share of its height;
a hesitation between them is on the way. A proposal."""
BURST_SHARE = 0.5
"""A burst of movement lasts as long as its speed is over this share of that in its middle.
A proposal."""
AT_REST_SHARE = 0.03
"""A clip that begins within this share of the height of the valley after the top begins at rest. A
proposal."""
MIN_SAMPLES = 5
"""Fewer show no movement. Mechanical."""


@dataclass(frozen=True, slots=True)
class Excursion:
    """One excursion as times in seconds; ``height`` in the signal's unit; ``complete`` both ways."""

    start_s: float
    top_start_s: float
    top_end_s: float
    end_s: float
    height: float
    peak_speed: float
    complete: bool


@dataclass(frozen=True, slots=True)
class _Peak:
    index: int
    left: int  # index of the valley before
    right: int  # index of the valley after
    height: float


def find_excursions(
    time_s: FloatArray, signal: FloatArray, min_range: float, *, alike: bool = True
) -> list[Excursion]:
    """Excursions of a gap-free ``signal`` (n,), sampled evenly at ``time_s`` (n,), in order.

    Those that are cut by the clip's ends, however little, come back with ``complete`` False, unless the
    clip begins as low as the valley on their other side. So do those that should be ``alike`` but do
    not reach SHARE of the clip's typical height.
    """
    if len(signal) < MIN_SAMPLES:
        return []
    step = float(time_s[1] - time_s[0])
    smooth = smoothed(signal, SMOOTHING_S / step)
    first = _peaks(smooth, min_range)
    if not first:
        return []
    typical = typical_height([peak.height for peak in first]) if alike else 0.0
    counted = _peaks(smooth, max(min_range, PROMINENCE_SHARE * SHARE * typical))
    found = [_measure(time_s, smooth, peak, typical) for peak in counted]
    found += [
        _measure(time_s, smooth, peak, typical)
        for peak in first
        if PARTIAL_SHARE * typical <= peak.height < SHARE * typical
        and not any(e.start_s <= time_s[peak.index] <= e.end_s for e in found)
    ]
    return sorted(found, key=lambda e: e.start_s)


def typical_height(heights: list[float]) -> float:
    """The height of a usual excursion among those of a clip."""
    return float(np.quantile(heights, TYPICAL_QUANTILE, method="lower"))


def _peaks(smooth: FloatArray, prominence: float) -> list[_Peak]:
    """Maxima standing out by ``prominence``; the ends of the clip count as valleys of no depth."""
    indices = prominent_maxima(smooth, prominence)
    peaks = []
    for order, index in enumerate(indices):
        before = indices[order - 1] if order else 0
        after = indices[order + 1] if order + 1 < len(indices) else len(smooth) - 1
        left = int(before + np.argmin(smooth[before : index + 1]))
        right = int(index + np.argmin(smooth[index : after + 1]))
        # A valley at the very end of the clip is only where filming stopped.
        seen = [smooth[i] for i in (left, right) if smooth[index] - smooth[i] >= prominence]
        if seen:
            peaks.append(_Peak(int(index), left, right, float(smooth[index] - max(seen))))
    return peaks


def prominent_maxima(signal: FloatArray, prominence: float) -> list[int]:
    """Indices of the maxima of ``signal`` (n,) that stand out by at least ``prominence``.

    A maximum stands out by its height over the higher of its two valleys, each sought as far as the
    signal stays no higher than the maximum; beyond the ends it is bottomless. Of a plateau the
    middle is given. (As scipy.signal.find_peaks on the padded signal, which takes a second to load,
    but for maxima of exactly one height without such a valley between them, which are one.)
    """
    edges = np.flatnonzero(np.diff(signal)) + 1
    starts = np.concatenate(([0], edges))
    stops = np.concatenate((edges, [len(signal)]))
    level = np.concatenate(([-np.inf], signal[starts], [-np.inf]))
    found = []
    for k in np.flatnonzero((level[1:-1] > level[:-2]) & (level[1:-1] > level[2:])) + 1:
        # Of maxima of one height, as a still hold may have, the first stands for all.
        left = np.flatnonzero(level[:k] >= level[k]).max(initial=0)
        right = k + 1 + np.flatnonzero(level[k + 1 :] > level[k]).min(initial=len(level) - 2 - k)
        valley = max(level[left : k + 1].min(), level[k : right + 1].min())
        if level[k] - valley >= prominence:
            found.append(int(starts[k - 1] + stops[k - 1] - 1) // 2)
    return found


def _measure(time_s: FloatArray, smooth: FloatArray, peak: _Peak, typical: float) -> Excursion:
    step = float(time_s[1] - time_s[0])
    speed = np.gradient(smooth, step)
    rise = slice(peak.left, peak.index + 1)
    foot, arrival = _flank(smooth[rise], speed[rise], peak.height)
    start, top_start = peak.left + (foot or 0), peak.left + arrival
    # The return is the effort read backwards.
    fall = slice(peak.index, peak.right + 1)
    foot_after, arrival = _flank(smooth[fall][::-1], -speed[fall][::-1], peak.height)
    end, top_end = peak.right - (foot_after or 0), peak.right - arrival
    least = AT_REST_SHARE * peak.height
    # Only at the ends may there be more of it: a valley inside is where the next one begins, and a clip
    # that begins as low as that valley begins at rest.
    # A dip of a top that is held when the clip begins or ends is no valley either.
    half = smooth[peak.index] - peak.height / 2
    cut_before = peak.left == 0 and smooth[peak.left] > smooth[peak.right] + least
    cut_before = cut_before or smooth[peak.left] > half
    cut_after = peak.right == len(smooth) - 1 or smooth[peak.right] > half
    whole = not ((foot is None and cut_before) or (foot_after is None and cut_after))
    return Excursion(
        start_s=float(time_s[start]),
        top_start_s=float(time_s[top_start]),
        top_end_s=float(time_s[max(top_end, top_start)]),
        end_s=float(time_s[end]),
        height=peak.height,
        peak_speed=float(np.abs(speed[start : end + 1]).max()),
        complete=bool(whole and peak.height >= SHARE * typical),
    )


def _flank(level: FloatArray, speed: FloatArray, height: float) -> tuple[int | None, int]:
    """Indices where a rising flank leaves its foot, None if that is not seen, and where it arrives
    at its top.

    Both are sought outward from the last crossing of half height, so that an earlier change of
    level with a rest after it is left out, and a hesitation on the way is not taken for the end.
    """
    last = len(level) - 1
    top = level[-1]
    below = np.flatnonzero(level <= top - height / 2)
    if len(below) == 0:
        return None, 0
    middle = int(below[-1])
    quiet = QUIET * _burst_speed(speed, middle)
    feet = np.flatnonzero((speed <= quiet) & (level <= top - (1 - END_SHARE) * height))
    feet = feet[feet <= middle]
    arrivals = np.flatnonzero((speed <= quiet) & (level >= top - END_SHARE * height))
    arrivals = arrivals[arrivals >= middle]
    return int(feet[-1]) if len(feet) else None, int(arrivals[0]) if len(arrivals) else last


def _burst_speed(speed: FloatArray, middle: int) -> float:
    """Greatest speed of the burst of movement around ``middle``."""
    # The level turns upward between this sample and the next, so one of them is on the way.
    middle += int(np.argmax(speed[middle : middle + 2]))
    fast = speed >= BURST_SHARE * max(speed[middle], 0.0)
    fast[middle] = True
    before = np.flatnonzero(~fast[: middle + 1])
    after = np.flatnonzero(~fast[middle:])
    first = int(before[-1]) + 1 if len(before) else 0
    stop = middle + int(after[0]) if len(after) else len(speed)
    return float(speed[first : max(stop, middle + 1)].max())
