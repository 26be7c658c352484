"""How much later one camera was started than the other, told by how the limbs move.

The bones of a body turn at the same moments for every camera. Between two cameras their directions
differ by one rotation, so that the best correlation over all rotations does not depend on where the
cameras stand.
"""

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.measures.timebase import low_pass
from formcheck.views.observation import Observation, bone_belief, bone_vectors
from formcheck.views.skeleton import BODY_BONES

RATE_HZ = 30.0
"""Rate at which movements are compared. Mechanical."""
LEAST_COMMON_S = 3.0
"""Less in common than this, and there is nothing to join. A proposal."""
SMOOTH_HZ = 4.0
"""Cutoff to which directions are smoothed before speeds are taken. A proposal."""
NEAR_BEST, APART_S, MOST_PEAKS = 0.25, 0.3, 4
"""How much less than the best another offset may correlate to be tried as well, how far apart two
offsets are, and how many are tried: a set repeats itself. A proposal."""


def candidate_offsets_s(a: Observation, b: Observation) -> list[tuple[float, float]]:
    """The likeliest offsets with their correlations (at most 1), the best first.

    Of two that correlate alike, the one with more movement in common is likelier: a part of a set
    that repeats itself fits at many places.

    At time t of ``a`` it was t + offset by ``b``. Empty if the two have too little in common.
    """
    grids = [np.arange(one.time_s[0], one.time_s[-1], 1 / RATE_HZ) for one in (a, b)]
    least = round(LEAST_COMMON_S * RATE_HZ)
    if min(len(grid) for grid in grids) < least:
        return []
    first, second = (_moving(one.at(grid)) for one, grid in zip((a, b), grids, strict=True))
    score, common = _correlation(first, second, least)
    rank = score * np.sqrt(common)
    start_s = float(b.time_s[0] - a.time_s[0])
    lags_s = start_s + (np.arange(len(score)) - (len(grids[0]) - 1)) / RATE_HZ
    peaks: list[int] = []
    for place in np.argsort(-np.nan_to_num(rank, nan=-np.inf)):
        near = any(abs(lags_s[place] - lags_s[peak]) < APART_S for peak in peaks)
        if not near and np.isfinite(rank[place]):
            peaks.append(int(place))
        if len(peaks) == MOST_PEAKS:
            break
    return [
        (float(lags_s[k]), float(score[k])) for k in peaks if rank[k] > rank[peaks[0]] - NEAR_BEST
    ]


def _moving(seen: Observation) -> tuple[FloatArray, FloatArray]:
    """Weighted rates of turning (n, bones, 3) of the body's bones, and the weights (n, bones)."""
    vectors = bone_vectors(seen.world_m)[:, :BODY_BONES]
    weight = bone_belief(seen)[:, :BODY_BONES]
    length = np.maximum(np.linalg.norm(vectors, axis=2, keepdims=True), 1e-6)
    directions = np.nan_to_num(vectors / length)
    rates = np.gradient(low_pass(directions, RATE_HZ, SMOOTH_HZ), axis=0) * RATE_HZ
    return rates, weight


def _correlation(
    first: tuple[FloatArray, FloatArray], second: tuple[FloatArray, FloatArray], least: int
) -> tuple[FloatArray, FloatArray]:
    """Correlation of two movements at each lag, from the least to the greatest, (n + m - 1,), and
    the share of all movement that is in common at that lag.
    """
    (rates_a, weight_a), (rates_b, weight_b) = first, second
    count = len(rates_a) + len(rates_b) - 1

    def correlate(x: FloatArray, y: FloatArray) -> FloatArray:
        """Sums over time of the products of x and the later y, for x (n, ...) and y (m, ...)."""
        size = 1 << (count - 1).bit_length()
        product = np.conj(np.fft.rfft(x, size, axis=0)) * np.fft.rfft(y, size, axis=0)
        lagged = np.fft.irfft(product.sum(axis=1), size, axis=0)
        return np.concatenate([lagged[size - len(rates_a) + 1 :], lagged[: len(rates_b)]])

    weighted_a, weighted_b = rates_a * weight_a[..., None], rates_b * weight_b[..., None]
    cross = np.stack(
        [
            np.stack([correlate(weighted_a[..., i], weighted_b[..., j]) for j in range(3)], axis=1)
            for i in range(3)
        ],
        axis=1,
    )
    power_a = correlate(weight_a * np.sum(rates_a**2, axis=2), weight_b)
    power_b = correlate(weight_a, weight_b * np.sum(rates_b**2, axis=2))
    values = np.linalg.svd(cross, compute_uv=False)
    values[:, 2] *= np.sign(np.linalg.det(cross))
    power = np.sqrt(np.maximum(power_a * power_b, 1e-12))
    score = values.sum(axis=1) / power
    ones = correlate(np.ones((len(rates_a), 1)), np.ones((len(rates_b), 1)))
    enough = ones >= least - 0.5
    most = float(power[enough].max()) if enough.any() else 1.0
    return np.where(enough, score, np.nan), power / most
