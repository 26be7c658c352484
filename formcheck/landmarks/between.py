"""Landmarks of the frames between two analysed ones."""

from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from formcheck.landmarks.follow import Piece
from formcheck.landmarks.track import LANDMARK_COUNT, BoolArray, FloatArray, IntArray, SingleArray


def fill_between(
    time_s: FloatArray, analysed: BoolArray, whose: IntArray, arrays: tuple[SingleArray, ...]
) -> None:
    """Fill arrays (n, 33, ...) in place at times that were not analysed, by shape-preserving cubics.

    ``whose`` (n,) numbers the piece that an analysed frame belongs to, -1 where the subject was not
    found in it. Filled is only between neighbours of one piece: never across a frame that was looked
    at in vain, nor from one piece to the next.
    """
    looked = np.flatnonzero(analysed)
    breaks = np.flatnonzero(np.diff(whose[looked])) + 1
    for run in np.split(looked, breaks):
        if len(run) > 1 and whose[run[0]] >= 0:
            within = slice(run[0], run[-1] + 1)
            between = ~analysed[within]
            for values, joint in product(arrays, range(LANDMARK_COUNT)):  # all at once take memory
                curve = PchipInterpolator(time_s[run], values[run, joint], axis=0)
                values[within, joint][between] = curve(time_s[within][between])


def carried(piece: Piece, values: NDArray[np.generic], count: int) -> NDArray[np.generic]:
    """(count,) a value for each pose of a piece, kept until the next pose; zero outside the piece."""
    whole = np.zeros(count, dtype=values.dtype)
    within = np.arange(piece.index[0], piece.index[-1] + 1)
    whole[within] = values[np.searchsorted(piece.index, within, side="right") - 1]
    return whole
