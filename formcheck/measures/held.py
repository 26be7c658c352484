"""Arms that keep still: what was read as they came in is carried on.

The networks read a moment from the movement around it, and once that is seconds away they answer what
arms mostly do. Geometry does not know the movement either, but it follows what little still changes. So
while an arm keeps still, geometry is corrected by what the networks said of it on the way in.
"""

from itertools import pairwise

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.measures.angles import angle_between_deg
from formcheck.measures.estimate import ARM_ANGLES
from formcheck.measures.posture import Posture
from formcheck.measures.table import Series, Side
from formcheck.measures.timebase import runs

ENTRY_S = 1.0
"""The correction is that of the second in which the arm comes to rest. A proposal."""
STILL_DEG_PER_S = 4.0
"""An arm keeps still while it and its forearm, as the pose model shows them, turn by less than this
within a second. A proposal."""
HELD_AFTER_S = 2.0
"""Stillness shorter than this, after that second, is left as it is: the movement before it is still in
what the networks look at. Read on rendered people."""
CARRIED_ON_AFTER_S = ENTRY_S + HELD_AFTER_S
"""Whoever keeps still for longer than this is told so. Mechanical."""
CHANGE_SHARE = 0.3
"""Share of what geometry has changed since then that is added to the uncertainty. A proposal."""


def carried_on(
    posture: Posture, side: Side, arm: dict[str, Series], geometric: dict[str, Series]
) -> dict[str, Series]:
    """The measures of an arm, its angles carried on wherever it keeps still.

    ``arm`` are the measures so far, ``geometric`` what geometry alone reads. An arm that is still
    from the beginning has no way in and stays as it is.
    """
    spans = _held_spans(posture, side)
    return {
        name: _carried(series, geometric[name], spans) if name in ARM_ANGLES and spans else series
        for name, series in arm.items()
    }


def _held_spans(posture: Posture, side: Side) -> list[tuple[slice, slice]]:
    """Of each hold the second in which the arm comes in, and the rest of it."""
    second = max(round(ENTRY_S * posture.rate_hz), 1)
    spans = []
    for start, stop in runs(_still(posture, side, second)):
        first = start - second
        came_in = first > 0 and np.isfinite(posture.image[first - 1, 0, 0])
        if came_in and stop - start >= HELD_AFTER_S * posture.rate_hz:
            spans.append((slice(first, start), slice(start, stop)))
    return spans


def _still(posture: Posture, side: Side, second: int) -> BoolArray:
    """(n,) True where the arm has hardly turned within the last second."""
    still = np.zeros(len(posture.time_s), dtype=bool)
    if len(still) <= second:
        return still
    still[second:] = True
    joints = [posture.world_of(name, side) for name in ("shoulder", "elbow", "wrist")]
    for near, far in pairwise(joints):
        turned = angle_between_deg((far - near)[second:], (far - near)[:-second])
        still[second:] &= turned < STILL_DEG_PER_S * ENTRY_S
    return still


def _carried(series: Series, geometric: Series, spans: list[tuple[slice, slice]]) -> Series:
    value, sd = series.value.copy(), series.sd.copy()
    for entry, rest in spans:
        known = np.isfinite(series.value[entry]) & np.isfinite(geometric.value[entry])
        if not known.any():
            continue
        read, shown = series.value[entry][known], geometric.value[entry][known]
        correction = _middle_deg(read - shown)
        changed = _short_way_deg(geometric.value[rest] - _middle_deg(shown))
        kept = np.isfinite(series.value[rest])
        carried = _short_way_deg(geometric.value[rest] + correction)
        value[rest] = np.where(kept, carried, np.nan)
        entry_sd = float(np.median(series.sd[entry][known]))
        sd[rest] = np.where(kept, np.hypot(entry_sd, CHANGE_SHARE * changed), np.nan)
    return Series(value, sd)


def _middle_deg(angles_deg: FloatArray) -> float:
    """The median of angles that lie close together, wherever the circle is cut."""
    first = float(angles_deg[-1])
    return first + float(np.median(_short_way_deg(angles_deg - first)))


def _short_way_deg(angle_deg: FloatArray) -> FloatArray:
    return np.asarray((angle_deg + 180) % 360 - 180)
