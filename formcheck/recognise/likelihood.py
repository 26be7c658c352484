"""How much likelier an observation is under an exercise than under no exercise in particular.

Every term is the logarithm of a ratio: the density that the exercise gives to what was seen, over a
flat density on all that could be seen. What is not seen, or seen too coarsely, has a ratio near 1.
"""

from math import erf, exp, isfinite, log, pi, sqrt

OUTLIER_SHARE = 0.02
"""Share of clips in which an exercise is done so wrong that anything may be seen. A proposal."""
FAULT_DEG, FAULT_CM = 12.0, 6.0
"""How far people stray from a target without it being another exercise. A proposal."""
HOLD_SPREAD, TOP_S, TOP_SPREAD, RANGE_SPREAD = 0.7, 0.5, 1.0, 0.7
"""Spreads are of natural logarithms: holds last half to twice what is asked, tops of repetitions
around half a second, ranges are half to twice the usual. A proposal."""
_SHORTEST_S, _LONGEST_S = 0.1, 120.0
"""Times that a hold or a top may take at all. A proposal."""
_RANGE_RATIO = 50.0
"""The largest range over the smallest, of any movement at all. A proposal."""
USUAL_RANGES = 3.0
"""An exercise's usual range in those that its smallest has. A proposal."""
_LEAST_RANGE = 1e-6
"""Keeps the logarithm of a range finite. Mechanical."""


def target_log_ratio(
    value: float, sd: float, target: tuple[float, float], bounds: tuple[float, float], unit: str
) -> float:
    """Log ratio of a reading to a target (low, high) within the measure's bounds."""
    low, high = target
    if not (isfinite(value) and isfinite(sd)):
        return 0.0
    spread = sqrt(sd**2 + (FAULT_CM if unit == "cm" else FAULT_DEG) ** 2)
    width = max(high - low, spread)
    inside = _normal_cdf((high - value) / spread) - _normal_cdf((low - value) / spread)
    span = bounds[1] - bounds[0]
    return log((1 - OUTLIER_SHARE) * inside * span / width + OUTLIER_SHARE)


def top_log_ratio(top_s: float, hold_s: float | None) -> float:
    """Log ratio of the time at the top to a hold of ``hold_s``, or to a repetition where None."""
    middle, spread = (TOP_S, TOP_SPREAD) if hold_s is None else (hold_s, HOLD_SPREAD)
    span = log(_LONGEST_S / _SHORTEST_S)
    return _log_normal(max(top_s, _SHORTEST_S), middle, spread, span)


def range_log_ratio(size: float, min_range: float) -> float:
    """Log ratio of an excursion to an exercise whose smallest is ``min_range``."""
    return _log_normal(
        max(size, _LEAST_RANGE), USUAL_RANGES * min_range, RANGE_SPREAD, log(_RANGE_RATIO)
    )


def binary_log_ratio(seen: bool, share: float, usual: float) -> float:
    """Log ratio of something that is so in ``share`` of the exercise's clips and ``usual`` of all."""
    return log(share / usual) if seen else log((1 - share) / (1 - usual))


def _log_normal(value: float, middle: float, spread: float, span: float) -> float:
    z = (log(value) - log(middle)) / spread
    density = exp(-z * z / 2) / (spread * sqrt(2 * pi))
    return log((1 - OUTLIER_SHARE) * density * span + OUTLIER_SHARE)


def _normal_cdf(z: float) -> float:
    return 0.5 * (1 + erf(z / sqrt(2)))
