"""Landmarks of the frames that the pose model skipped."""

from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from formcheck.catalogue.arrays import BoolArray, FloatArray, IntArray, SingleArray
from formcheck.landmarks.person_tracker import Tracklet
from formcheck.landmarks.track import LANDMARK_COUNT


def interpolate_skipped(
    time_s: FloatArray, analysed: BoolArray, tracklet_of: IntArray, arrays: tuple[SingleArray, ...]
) -> None:
    """Interpolate arrays (n, 33, ...) in place at skipped times, by shape-preserving cubics.

    ``tracklet_of`` (n,) numbers the tracklet that an analysed frame belongs to, -1 where the subject
    was not found in it. Only frames between two neighbours of one tracklet are interpolated: never
    across a frame in which nobody was found, nor from one tracklet to the next.
    """
    analysed_at = np.flatnonzero(analysed)
    breaks = np.flatnonzero(np.diff(tracklet_of[analysed_at])) + 1
    for run in np.split(analysed_at, breaks):
        if len(run) > 1 and tracklet_of[run[0]] >= 0:
            within = slice(run[0], run[-1] + 1)
            skipped = ~analysed[within]
            for values, joint in product(arrays, range(LANDMARK_COUNT)):  # all at once take memory
                curve = PchipInterpolator(time_s[run], values[run, joint], axis=0)
                values[within, joint][skipped] = curve(time_s[within][skipped])


def hold_last(tracklet: Tracklet, values: NDArray[np.generic], count: int) -> NDArray[np.generic]:
    """(count,) the value of each pose of a tracklet, held until the next pose; zero outside it."""
    whole = np.zeros(count, dtype=values.dtype)
    within = np.arange(tracklet.index[0], tracklet.index[-1] + 1)
    whole[within] = values[np.searchsorted(tracklet.index, within, side="right") - 1]
    return whole
