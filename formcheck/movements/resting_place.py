"""Efforts that begin from a resting place: the hand on the back, before it is lifted off."""

from collections.abc import Iterator

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.measures.timebase import runs
from formcheck.movements.arm_signal import ArmSignal
from formcheck.movements.excursions import Excursion
from formcheck.movements.plateaus import find_plateaus
from formcheck.movements.signals import MIN_PIECE_S

SETTLED_SHARE = 0.25
"""After the last rest a rise by more than this share of ``min_range`` belongs to the way back.
A proposal."""


def stretches_at_rest(
    arm: ArmSignal, times: FloatArray, effort: FloatArray
) -> Iterator[tuple[FloatArray, FloatArray]]:
    """Each stretch in which the arm is at the resting place or lifted from it.

    It begins where the arm first came to rest and ends where it last did, as the way there and the
    way back are no effort.
    """
    in_place = arm.in_place[np.isin(arm.table.time_s, times)]
    for start, stop in runs(in_place):
        there_s, level = times[start:stop], effort[start:stop]
        plateaus = find_plateaus(there_s, level, arm.min_range)
        if not plateaus:
            continue
        first = int(np.searchsorted(there_s, plateaus[0].top_start_s))
        last = int(np.searchsorted(there_s, plateaus[-1].top_end_s))
        last += _settled(level[last:], SETTLED_SHARE * arm.min_range)
        if there_s[last] - there_s[first] >= MIN_PIECE_S:
            yield there_s[first : last + 1], level[first : last + 1]


def _settled(level: FloatArray, least_rise: float) -> int:
    """Index of the lowest ``level`` (n,) before it rises again."""
    risen = np.flatnonzero(level - np.minimum.accumulate(level) > least_rise)
    return int(np.argmin(level[: risen[0]] if len(risen) else level))


def only_rested(times: FloatArray) -> Excursion:
    """The arm came to its resting place and did not leave it, which is no repetition."""
    first, last = float(times[0]), float(times[-1])
    return Excursion(first, first, last, last, height=0.0, peak_speed=0.0, complete=False)
