"""A uniform time base: short gaps bridged, longer ones left open, noise removed without lag."""

from math import atan, pi, tan

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.arrays import BoolArray, FloatArray

MAX_BRIDGE_S = 0.2
"""Longest gap that is filled in: fast arm movement turns round in about this time, so that a longer
bridge would invent movement; no single number is published. A proposal."""

CUTOFF_HZ = 6.0
"""Usual low-pass cutoff for the positions of human limbs. Common practice, no source."""
MAX_CUTOFF_SHARE = 0.45
"""Share of the frame rate from which a cutoff cannot be held, close to the Nyquist limit. Mechanical."""
_MIN_FILTERED = 7
"""Stretches of fewer times are too short to filter. Mechanical."""
_BRIDGE_STEPS = 1.5
"""Known times further apart than so many steps have a gap between them. Mechanical."""
_SAME_TIME_S = 1e-4
"""Times closer than this are the same. Mechanical."""
_TINY_S = 1e-9
"""Slack for rounding in comparisons of times. Mechanical."""
_PASSES, _ORDER_PER_PASS = 2, 2
"""Forward and back, a second-order filter each, together the usual fourth order.
Common practice, no source."""
_NYQUIST = 0.499
"""Just under half the frame rate, where the tangent has its pole. Mechanical."""


def uniform_times(time_s: FloatArray) -> FloatArray:
    """Evenly spaced times over the span of ``time_s`` (n,), at its median rate."""
    if len(time_s) < 2:
        return time_s.copy()
    step = float(np.median(np.diff(time_s)))
    count = int(np.floor((time_s[-1] - time_s[0]) / step + 1e-6)) + 1
    return np.asarray(time_s[0] + step * np.arange(count), dtype=float)


def known_at(
    time_s: FloatArray, known: BoolArray, grid_s: FloatArray
) -> tuple[BoolArray, BoolArray]:
    """Where the grid can be filled from known samples, and where that bridges a gap.

    A grid time is filled when the known samples around it are at most MAX_BRIDGE_S apart (or it
    falls on one); nothing is filled before the first or after the last known sample.
    Returns (filled, bridged), both (m,).
    """
    times = time_s[known]
    if len(times) == 0:
        none = np.zeros(len(grid_s), dtype=bool)
        return none, none.copy()
    step = float(np.median(np.diff(time_s))) if len(time_s) > 1 else 0.0
    after = np.clip(np.searchsorted(times, grid_s - _TINY_S), 0, len(times) - 1)
    before = np.clip(np.searchsorted(times, grid_s + _TINY_S, side="right") - 1, 0, len(times) - 1)
    slack = step / 2 + _TINY_S
    inside = (times[after] >= grid_s - slack) & (times[before] <= grid_s + slack)
    spread = times[after] - times[before]
    filled = inside & (spread <= MAX_BRIDGE_S + _TINY_S)
    return filled, filled & (spread > _BRIDGE_STEPS * step)


def resample(
    time_s: FloatArray,
    values: NDArray[np.floating],
    known: BoolArray,
    grid_s: FloatArray,
) -> FloatArray:
    """Values (n, ...) at the known times, brought to the grid by shape-preserving cubic pieces."""
    times = time_s[known]
    if len(times) < 2:
        return np.full((len(grid_s), *values.shape[1:]), np.nan)
    if len(times) == len(grid_s) and np.allclose(times, grid_s, rtol=0, atol=_SAME_TIME_S):
        return np.array(values, dtype=float)
    # Most clips keep an even rate, and this takes half a second to load.
    from scipy.interpolate import PchipInterpolator  # noqa: PLC0415

    curve = PchipInterpolator(times, values[known], axis=0)
    return np.asarray(curve(np.clip(grid_s, times[0], times[-1])), dtype=float)


def corrected_cutoff_hz(cutoff_hz: float, rate_hz: float) -> float:
    """Design cutoff of each pass so that the double pass is 3 dB down exactly at ``cutoff_hz``.

    Winter's factor C = (2^(1/passes) - 1)^(1/(2 order)) holds for an analogue filter; for a bilinear
    digital design it has to be applied in the tangent domain.
    """
    factor = (2 ** (1 / _PASSES) - 1) ** (1 / (2 * _ORDER_PER_PASS))
    return rate_hz / pi * atan(tan(pi * cutoff_hz / rate_hz) / factor)


def low_pass(values: FloatArray, rate_hz: float, cutoff_hz: float = CUTOFF_HZ) -> FloatArray:
    """Zero-lag 4th-order Butterworth along axis 0, run separately on each stretch without NaN.

    Stretches too short to filter (under about a fifth of a second) are returned as they are, as is
    everything when the rate is too low to hold the cutoff.
    """
    if cutoff_hz >= MAX_CUTOFF_SHARE * rate_hz:
        return values.copy()
    out = values.copy()
    finite = np.asarray(np.isfinite(values).reshape(len(values), -1).all(axis=1), dtype=bool)
    for start, stop in runs(finite):
        if stop - start >= _MIN_FILTERED:
            out[start:stop] = _filtered(values[start:stop], rate_hz, cutoff_hz)
    return out


def _filtered(values: FloatArray, rate_hz: float, cutoff_hz: float) -> FloatArray:
    """Both passes at once on the spectrum: their gain is known and they have no phase.

    The stretch is padded by odd reflection and the line between its ends is taken out meanwhile, so
    that it is smooth where it wraps round. (scipy.signal does the same, but takes a second to load.)
    """
    count = len(values)
    pad = min(count - 1, round(rate_hz))
    before, after = 2 * values[0] - values[pad:0:-1], 2 * values[-1] - values[-2 : -pad - 2 : -1]
    padded = np.concatenate([before, values, after]).reshape(count + 2 * pad, -1)
    line = np.linspace(padded[0], padded[-1], len(padded))
    design = pi * corrected_cutoff_hz(cutoff_hz, rate_hz) / rate_hz
    angle = pi * np.fft.rfftfreq(len(padded))
    ratio = np.tan(np.minimum(angle, _NYQUIST * pi)) / tan(design)
    gain = 1 / (1 + ratio ** (_PASSES * _ORDER_PER_PASS))
    passed = np.fft.irfft(np.fft.rfft(padded - line, axis=0) * gain[:, None], len(padded), axis=0)
    return np.asarray((passed + line)[pad : pad + count].reshape(values.shape))


def runs(flags: BoolArray) -> list[tuple[int, int]]:
    """Half-open index ranges (start, stop) of the stretches where ``flags`` (n,) is True."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False])).astype(np.int8)))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
