"""The clocks of two cameras, and whether they keep together."""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.landmarks.track import Joint
from formcheck.views.exchanges import LINE_SHARE, off_lines_px
from formcheck.views.movement import Movement
from formcheck.views.observation import Observation
from formcheck.views.rig import Rig
from formcheck.views.skeleton import PLACE

WINDOW_S, HOP_S, SPAN_S, STEP_S = 4.0, 2.0, 0.3, 1 / 60
"""Length and distance of the stretches in which the clocks are compared, and the shifts that are
tried there. A proposal."""
SHARP = 0.05
"""A stretch tells the shift if joints fit so much better there than at both ends of the span, as a
mean of log(1 + squared distance). A proposal."""
MOVED_SPAN_S, SHARP_MOVED = 0.5, 0.5
"""The same by how the body moves, as a share of all movement. Read on rendered people."""
DRIFT_WINDOWS, MOST_DRIFT = 4, 0.005
"""Stretches that a drift of the clocks is told from, and the largest believed: phones differ by less
than a thousandth. A proposal."""
_LEAST_SPREAD_S = 0.01
"""A drift that moves the clocks by less than this is left alone. A proposal."""
_ARMS = [
    PLACE[Joint[f"{side}_{name}"]] for side in ("LEFT", "RIGHT") for name in ("ELBOW", "WRIST")
] + [PLACE[Joint.NOSE], PLACE[Joint.LEFT_SHOULDER], PLACE[Joint.RIGHT_SHOULDER]]


@dataclass(frozen=True, slots=True)
class Clock:
    """At time t of the first camera it was t (1 + ``rate``) + ``offset_s`` by the second."""

    offset_s: float
    rate: float = 0.0

    def of(self, times_s: FloatArray) -> FloatArray:
        """Times of the second camera."""
        return times_s * (1 + self.rate) + self.offset_s

    def inverse(self, time_s: float) -> float:
        """A time of the first camera."""
        return (time_s - self.offset_s) / (1 + self.rate)

    def corrected(self, offsets: FloatArray) -> "Clock":
        """The clock with the drift that local offsets (k, 2) show, if they show one."""
        if len(offsets) < DRIFT_WINDOWS:
            return self
        times, late = offsets.T
        pairs = [(i, j) for i in range(len(times)) for j in range(i)]
        rates = [(late[i] - late[j]) / (times[i] - times[j]) for i, j in pairs]
        rate = float(np.median(rates))  # Theil-Sen: one odd stretch does not matter
        if abs(rate) > MOST_DRIFT or abs(rate) * np.ptp(times) < _LEAST_SPREAD_S:
            return self
        return Clock(self.offset_s - rate * float(np.median(times)), self.rate + rate)


def local_offsets(a: Observation, b: Observation, rig: Rig) -> FloatArray:
    """(k, 2): the middle of each stretch that tells it, and by how much the second camera is late there
    beyond the common offset, both in seconds.

    Told by where the joints lie in both pictures.
    """
    shifts_s = np.arange(-SPAN_S, SPAN_S + STEP_S / 2, STEP_S)
    costs = np.stack([_costs(a, _shifted(b, shift), rig) for shift in shifts_s])
    return _dips(a.time_s, shifts_s, costs, SHARP)


def moved_offsets(a: Movement, b: Movement, clock: Clock) -> FloatArray:
    """The same by when arms turn against the trunk and joints rise, by which a set done again is told from
    the same one even where its repetitions fit wherever the cameras stand.
    """
    step_s = float(np.median(np.diff(a.time_s)))
    steps = round(MOVED_SPAN_S / step_s)
    shifts_s = np.asarray(np.arange(-steps, steps + 1) * step_s, dtype=float)
    costs: FloatArray = np.zeros((len(shifts_s), len(a.time_s)))
    power = 0.0
    for rates_a, weight_a, rates_b, weight_b in (
        (a.arms, a.arms_weight, b.arms, b.arms_weight),
        (a.rises, a.rises_weight, b.rises, b.rises_weight),
    ):
        scale_a, scale_b = (
            np.sqrt(max(float(np.sum(weight * rates**2)), 1e-12))
            for weight, rates in ((weight_a, rates_a), (weight_b, rates_b))
        )
        power += 1.0 / len(a.time_s)
        for place, shift_s in enumerate(shifts_s):
            there = np.round((clock.of(a.time_s) + shift_s - b.time_s[0]) / step_s).astype(int)
            inside = (there >= 0) & (there < len(b.time_s))
            there = np.clip(there, 0, len(b.time_s) - 1)
            off = (rates_a / scale_a - rates_b[there] / scale_b) ** 2
            cost = np.sum(weight_a * weight_b[there] * off, axis=1)
            costs[place] += np.where(inside, cost, np.nan)
    return _dips(a.time_s, shifts_s, costs, SHARP_MOVED * power)


def stretch_count(time_s: FloatArray) -> int:
    """In how many stretches the clocks are compared at times (n,)."""
    return len(_stretches(time_s))


def _stretches(time_s: FloatArray) -> list[slice]:
    rate_hz = 1 / float(np.median(np.diff(time_s)))
    window, hop = min(round(WINDOW_S * rate_hz), len(time_s)), round(HOP_S * rate_hz)
    return [slice(start, start + window) for start in range(0, len(time_s) - window + 1, hop)]


def _dips(time_s: FloatArray, shifts_s: FloatArray, costs: FloatArray, sharp: float) -> FloatArray:
    """(k, 2): where costs (shifts, n) are least in each stretch in which they dip sharply."""
    found = []
    for stretch in _stretches(time_s):
        part = costs[:, stretch]
        told = np.isfinite(part).all(axis=0)
        if told.mean() < 0.5:
            continue
        mean = part[:, told].mean(axis=1)
        best = int(mean.argmin())
        if best in (0, len(mean) - 1) or min(mean[0], mean[-1]) - mean[best] < sharp:
            continue
        before, here, after = mean[best - 1 : best + 2]
        bend = before - 2 * here + after
        finer = 0.5 * (before - after) / bend if bend > 0 else 0.0
        found.append(
            (float(time_s[stretch].mean()), shifts_s[best] + finer * (shifts_s[1] - shifts_s[0]))
        )
    return np.array(found).reshape(-1, 2)


def _shifted(seen: Observation, shift_s: float) -> Observation:
    """What it saw ``shift_s`` later, under the same times."""
    return seen.at(np.clip(seen.time_s + shift_s, seen.time_s[0], seen.time_s[-1]))


def _costs(a: Observation, b: Observation, rig: Rig) -> FloatArray:
    """(n,) how badly the joints that move fit, NaN where none is known."""
    weight = np.where(a.known & b.known, np.minimum(a.belief, b.belief), 0.0)[:, _ARMS]
    unit = LINE_SHARE * np.sqrt(a.unit_px * b.unit_px)
    cost = np.log1p((off_lines_px(a, b, rig)[:, _ARMS] / unit) ** 2)
    total = weight.sum(axis=1)
    return np.where(total > 0, (weight * cost).sum(axis=1) / np.maximum(total, 1e-9), np.nan)
