"""How much later one camera was started than the other, told by how the body moves.

Arms turn against the trunk, joints rise and bones turn at the same moments for every camera. How well
each of the three correlates at an offset adds up to the evidence for it.
"""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray, IntArray
from formcheck.views.movement import RATE_HZ, Movement

LEAST_COMMON_S = 3.0
"""Less in common than this, and there is nothing to join. A proposal."""
ARMS_SHARE = 1.5
"""How many times as much the arms count as either of the others, their rates being smoothed most.
Chosen on rendered people. Read on rendered people."""
APART_S, MOST_PEAKS, NEAR_BEST = 0.3, 4, 6.0
"""How far apart two offsets are, how many are tried, and how much less evidence than the likeliest one
may have: a set repeats itself. A proposal."""
USUAL_APART_DEG, AGAINST_PER_DEG, MOST_APART_DEG = 10.0, 0.1, 60.0
"""How far two single views of one set have the arms apart at the median, what each degree more takes from
the evidence, and what one moment counts at most: of other people doing the same exercise they are 31
degrees apart. Read on rendered people."""
MIRRORED_LEAD = 0.3
"""How much better arms must correlate with the other arm than with the same one, for one clip to be a
mirror image. A proposal."""
LEAST_SEEN, LEAST_RATE = 0.3, 0.25
"""How much of an arm both cameras must see, and how fast one must see it turn, as root mean squares of the
rates of its directions in 1/s, for it to tell whether both see the same movement: of arms that hardly move
the rates are noise, or one slow ramp that any other would fit. Read on rendered people."""
CLOCKS_AGREE_S = 3.0
"""Phones set their clocks by the network, and agree to this. Common practice, no source."""
LEAST_EVIDENCE_STATED = 0.5
"""Evidence that will do within that of an offset that both files state. A proposal."""
_MOST_CORRELATION = 0.999
"""Keeps the evidence finite. Mechanical."""


@dataclass(frozen=True, slots=True)
class Offset:
    """At time t of the first clip it was t + ``offset_s`` by the second.

    ``evidence`` is the logarithm of how much likelier the movements are as those of one body at one
    time than as unrelated ones.
    """

    offset_s: float
    evidence: float


def likely_offsets(a: Movement, b: Movement, stated_s: float | None = None) -> list[Offset]:
    """The likeliest offsets, the best first; empty if the two have too little in common.

    Near an offset that both files state, none other is likely where the movement says as much.
    """
    lags_s, evidence = evidence_of(a, b)
    if stated_s is not None:
        near = np.abs(lags_s - stated_s) <= CLOCKS_AGREE_S
        if near.any() and evidence[near].max() >= LEAST_EVIDENCE_STATED:
            lags_s, evidence = lags_s[near], evidence[near]
    peaks: list[int] = []
    for place in np.argsort(-evidence):
        if all(abs(lags_s[place] - lags_s[peak]) >= APART_S for peak in peaks):
            peaks.append(int(place))
        if len(peaks) == MOST_PEAKS:
            break
    return [
        Offset(float(lags_s[k]), float(evidence[k]))
        for k in peaks
        if evidence[k] > evidence[peaks[0]] - NEAR_BEST
    ]


def evidence_at(a: Movement, b: Movement, offset_s: float) -> float:
    """The evidence for an offset, the best within a step of it, less what speaks against it: arms that
    each camera by itself sees elsewhere. 0 with too little in common.
    """
    lags_s, evidence = evidence_of(a, b)
    near = np.abs(lags_s - offset_s) <= APART_S / 2
    if not near.any():
        return 0.0
    against = AGAINST_PER_DEG * max(arms_apart_deg(a, b, offset_s) - USUAL_APART_DEG, 0.0)
    return float(evidence[near].max()) - against


def arms_apart_deg(a: Movement, b: Movement, offset_s: float) -> float:
    """How far the arms' directions in the trunk's axes are apart in both views, a mean, degrees."""
    common, place = _same_moments(a, b, offset_s)
    first, second = a.directions[common], b.directions[place]
    weight = (a.arms_weight[common] * b.arms_weight[place])[:, ::3]
    apart = np.degrees(2 * np.arcsin(np.clip(np.linalg.norm(first - second, axis=2) / 2, 0, 1)))
    total = float(weight.sum())
    return float(np.sum(weight * np.minimum(apart, MOST_APART_DEG))) / total if total > 0 else 0.0


def arm_correlations(a: Movement, b: Movement, offset_s: float) -> FloatArray:
    """How well the movements of each arm correlate between the views, (0 to 2,): of the arms that both
    cameras see and that one of them sees move.
    """
    common, place = _same_moments(a, b, offset_s)
    first, second = a.arms[common], b.arms[place]
    weight = a.arms_weight[common] * b.arms_weight[place]
    half = first.shape[1] // 2
    found = []
    for arm in (slice(0, half), slice(half, None)):
        seen = weight[:, arm]
        power = [float(np.sum(seen * own[:, arm] ** 2)) for own in (first, second)]
        rate = np.sqrt(max(power) / max(float(seen.sum()), 1e-12))
        if seen.size and seen.mean() >= LEAST_SEEN and rate >= LEAST_RATE:
            cross = float(np.sum(seen * first[:, arm] * second[:, arm]))
            found.append(cross / np.sqrt(max(power[0] * power[1], 1e-12)))
    return np.array(found)


def sides_exchanged(a: Movement, b: Movement, offset_s: float) -> bool:
    """Whether one clip's left arm moves as the other's right arm does, and the reverse, as in a mirror
    image. Arms that move alike tell nothing.
    """
    common, place = _same_moments(a, b, offset_s)
    rates, weight = a.arms[common], a.arms_weight[common]
    half = rates.shape[1] // 2
    found = []
    for turned in (0, half):
        other = np.roll(b.arms[place], turned, axis=1)
        both = weight * np.roll(b.arms_weight[place], turned, axis=1)
        power = np.sum(both * rates**2) * np.sum(both * other**2)
        found.append(float(np.sum(both * rates * other) / np.sqrt(max(power, 1e-12))))
    return found[1] > found[0] + MIRRORED_LEAD


def _same_moments(a: Movement, b: Movement, offset_s: float) -> tuple[BoolArray, IntArray]:
    """Which times of ``a`` the other has too, (n,), and the places of these in ``b``."""
    place = np.round((a.time_s + offset_s - b.time_s[0]) * RATE_HZ).astype(int)
    common = (place >= 0) & (place < len(b.time_s))
    return common, place[common]


def evidence_of(a: Movement, b: Movement) -> tuple[FloatArray, FloatArray]:
    """Lags (k,) in seconds that leave enough in common, and the evidence for each."""
    counts = len(a.time_s), len(b.time_s)
    if min(counts) < LEAST_COMMON_S * RATE_HZ:
        return np.zeros(0), np.zeros(0)
    common = _lagged(np.ones((counts[0], 1)), np.ones((counts[1], 1)))
    enough = common >= LEAST_COMMON_S * RATE_HZ - 0.5
    correlations = (
        (ARMS_SHARE, _correlation(a.arms, a.arms_weight, b.arms, b.arms_weight)),
        (1.0, _correlation(a.rises, a.rises_weight, b.rises, b.rises_weight)),
        (1.0, _turned_correlation(a, b)),
    )
    each = [
        share * np.log1p(-(np.clip(values, 0.0, _MOST_CORRELATION) ** 2))
        for share, values in correlations
    ]
    evidence = -np.sum(each, axis=0) * common / RATE_HZ / 2
    lags_s = float(b.time_s[0] - a.time_s[0]) + (np.arange(len(common)) - counts[0] + 1) / RATE_HZ
    return lags_s[enough], evidence[enough]


def _lagged(x: FloatArray, y: FloatArray) -> FloatArray:
    """Sums over time of the products of x (n, c) and the later y (m, c) at each lag, from the least to
    the greatest, (n + m - 1,).
    """
    count = len(x) + len(y) - 1
    size = 1 << (count - 1).bit_length()
    product = np.conj(np.fft.rfft(x, size, axis=0)) * np.fft.rfft(y, size, axis=0)
    lagged = np.fft.irfft(product.sum(axis=1), size)
    return np.concatenate([lagged[size - len(x) + 1 :], lagged[: len(y)]])


def _correlation(
    rates_a: FloatArray, weight_a: FloatArray, rates_b: FloatArray, weight_b: FloatArray
) -> FloatArray:
    """Weighted correlation of rates (n, c) and (m, c) at each lag."""
    cross = _lagged(weight_a * rates_a, weight_b * rates_b)
    power_a = _lagged(weight_a * rates_a**2, weight_b)
    power_b = _lagged(weight_a, weight_b * rates_b**2)
    return np.asarray(cross / _root(power_a * power_b))


def _turned_correlation(a: Movement, b: Movement) -> FloatArray:
    """Of the bones, whose directions differ by one rotation between the cameras: the best correlation
    over all rotations at each lag.
    """
    weighted_a, weighted_b = (one.bones * one.bones_weight[..., None] for one in (a, b))
    cross = np.stack(
        [
            np.stack([_lagged(weighted_a[..., i], weighted_b[..., j]) for j in range(3)], axis=1)
            for i in range(3)
        ],
        axis=1,
    )
    power_a = _lagged(a.bones_weight * np.sum(a.bones**2, axis=2), b.bones_weight)
    power_b = _lagged(a.bones_weight, b.bones_weight * np.sum(b.bones**2, axis=2))
    values = np.linalg.svd(cross, compute_uv=False)
    values[:, 2] *= np.sign(np.linalg.det(cross))
    return np.asarray(values.sum(axis=1) / _root(power_a * power_b))


def _root(power: FloatArray) -> FloatArray:
    return np.asarray(np.sqrt(np.maximum(power, 1e-12)))
