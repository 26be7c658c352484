"""The signals that movements are found in: chosen sides joined, known stretches cut out."""

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.catalogue.measures import MEASURES
from formcheck.measures.table import MeasureTable, Series, Side
from formcheck.measures.timebase import runs

MAX_GAP_S = 0.5
"""Movements are followed across unknown stretches up to this long, and broken by longer ones.
A proposal."""
MIN_PIECE_S = 1.0
"""Known stretches shorter than this hold no movement. A proposal."""
EXTREME_PERCENTILES = (3.0, 97.0)
"""What lies outside these is left out of a range, as a few bad readings may. A proposal."""
REST_S = 1.0
"""The arm is taken to rest for this long at the beginning and the end of a clip. A proposal."""
MOVING_ABOUT_SHARE = 0.5
"""A repetition with more than this share of its time spent walking or changing place is none.
A proposal."""
_WINDOW_SDS = 4.0
"""Half width of the smoothing window, beyond which its weights vanish. Mechanical."""


def combined(table: MeasureTable, measure: str, sides: tuple[Side, ...]) -> Series:
    """One series of a measure for one side, or for both weighted by 1 / sd squared.

    Measures of the trunk are the same for every side. Raises KeyError for an unknown measure.
    """
    if not MEASURES[measure].sided:
        return table.series(measure)
    series = [table.series(measure, side) for side in sides]
    if len(series) == 1:
        return series[0]
    values = np.stack([np.nan_to_num(s.value) for s in series])
    weights = np.stack([np.nan_to_num(s.sd**-2.0) for s in series])
    total = weights.sum(axis=0)
    known = total > 0
    mean = np.sum(values * weights, axis=0) / np.where(known, total, 1)
    # One model reads both arms, and its errors are correlated: two arms are no surer than one.
    least = np.min(np.stack([np.where(np.isfinite(s.sd), s.sd, np.inf) for s in series]), axis=0)
    return Series(np.where(known, mean, np.nan), np.where(known, least, np.nan))


def smoothed(values: FloatArray, sd_samples: float) -> FloatArray:
    """Values (n,) or (n, k) under a Gaussian window of this spread; the ends are held.

    (As scipy.ndimage.gaussian_filter1d, which takes half a second to load.)
    """
    reach = int(_WINDOW_SDS * sd_samples + 0.5)
    window = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sd_samples) ** 2)
    window /= window.sum()
    flat = values.reshape(len(values), -1)
    held = np.pad(flat, ((reach, reach), (0, 0)), mode="edge")
    columns = [np.convolve(column, window, mode="valid") for column in held.T]
    return np.stack(columns, axis=1).reshape(values.shape)


def usual_range(values: FloatArray) -> float:
    """Spread of the known values (n,) without their extremes; 0 if there are none."""
    known = values[np.isfinite(values)]
    if len(known) == 0:
        return 0.0
    low, high = np.percentile(known, EXTREME_PERCENTILES)
    return float(high - low)


def known_pieces(table: MeasureTable, values: FloatArray) -> list[slice]:
    """Stretches in which ``values`` (n,) are known but for gaps up to MAX_GAP_S."""
    if len(table.time_s) < 2:
        return []
    step = float(table.time_s[1] - table.time_s[0])
    joined: list[tuple[int, int]] = []
    for start, stop in runs(np.isfinite(values)):
        if joined and (start - joined[-1][1]) * step <= MAX_GAP_S:
            joined[-1] = (joined[-1][0], stop)
        else:
            joined.append((start, stop))
    return [slice(a, b) for a, b in joined if (b - a) * step >= MIN_PIECE_S]


def bridged(times: FloatArray, values: FloatArray) -> FloatArray:
    """Values (n,) or (n, k) with unknown stretches bridged by straight lines."""
    if values.ndim > 1:
        return np.stack([bridged(times, column) for column in values.T], axis=1)
    known = np.isfinite(values)
    return np.asarray(np.interp(times, times[known], values[known]))


def while_moving_about(table: MeasureTable, start_s: float, end_s: float) -> bool:
    """True if the subject walks or changes place for most of that time."""
    inside = (table.time_s >= start_s) & (table.time_s <= end_s)
    return bool(inside.any() and table.moving_about[inside].mean() > MOVING_ABOUT_SHARE)
