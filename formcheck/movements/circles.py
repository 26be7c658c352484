"""Circles of the upper arm: its direction about the shoulder as a curve, counted in revolutions.

The curve is read twice: on the sphere, from the arm's direction in space, and in the picture, from
the elbow about the shoulder. Each reading gives a phase about the curve's own centre. The picture's
reading is steadier but mirrored when the circle is seen from inside, so its sense is taken from
whether the circle's axis points toward the camera; where the axis lies nearly in the picture the
reading in space decides (``curves.py``).

The phase is cut into legs, in each of which it goes one way; standing still and the way to and from
the circle are cut off a leg, the latter because only on a circle is the arm where it passes again;
what is left is shared out into revolutions.

Direction: forward = at the top of the circle the elbow moves toward the front (for a circle in
front of the chest, toward the midline); backward = the other way.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray, IntArray
from formcheck.measures.table import ArmPath
from formcheck.measures.timebase import runs
from formcheck.movements.curves import Curve, curves_of
from formcheck.movements.types import Direction

MIN_REVOLUTION = 0.85
"""Share of a revolution that counts as one circle; circles read 0.97-1.03 from landmarks.
Read on rendered people."""
MIN_PARTIAL_REVOLUTION = 0.4
"""Less than this share of a revolution is not even a circle begun. A proposal."""
USUAL_RATE_PERCENTILE = 75.0
"""The rate at which a leg turns while nothing holds it up. A proposal."""
PAUSE_SHARE = 0.12
"""Turning at less than this share of the leg's usual rate is standing still. A proposal."""
MIN_PAUSE_S = 0.25
"""Shorter hesitations do not separate the circles from bringing the arm up or down. A proposal."""
NEAR_RADIUS = 1.7
"""Further from the centre than this many times the leg's median radius, the arm is on its way to or
from the circle. A proposal."""
ON_PATH_SHARE = 0.25
"""Within this share of the radius of the path of the circles between, the arm has reached it; those
paths differ by 0.02-0.18. Read on rendered people."""
MIN_APPROACH_S = 0.25
"""Coming to the path or leaving it takes this long; the ends of a fast circle are off it for less,
as they are smoothed together with what comes before and after. A proposal."""
SETTLING = 0.1
"""Where the arm is slowest while it turns this share of a revolution after it reached the path, going
there ends and going round begins. A proposal."""
MAX_APPROACH = 0.55
"""Bringing the arm to or from the circle turns the phase by less than this share of a revolution.
A proposal."""
MIN_REVERSAL = 0.15
"""Turning back by less than this share of a revolution is a wobble, not a reversal. A proposal."""
MIN_TRAVEL = 0.05
"""An arm that moves by less than this, in arm or trunk lengths, draws no circle. A proposal."""
_MIN_SHAPE_SAMPLES = 5
"""Fewer show no shape. Mechanical."""
_WIDTH_STEP_DEG = 10
"""The widths of a path are measured in directions so far apart. Mechanical."""

_Range = tuple[int, int]
"""Index of the first and of the last sample of a stretch."""


@dataclass(frozen=True, slots=True)
class Revolution:
    """One circle: its ``share`` of a full revolution; ``roundness`` 0-1 (1 = a true circle)."""

    start_s: float
    end_s: float
    direction: Direction
    share: float
    radius_deg: float
    roundness: float

    @property
    def complete(self) -> bool:
        """True for a full revolution within what landmarks can tell."""
        return bool(self.share >= MIN_REVOLUTION)


def find_circles(time_s: FloatArray, path: ArmPath) -> list[Revolution]:
    """Circles of a gap-free arm path sampled evenly at ``time_s`` (n,), in order of time."""
    if min(float(np.ptp(one, axis=0).max()) for one in (path.direction, path.image)) < MIN_TRAVEL:
        return []
    curve, space = curves_of(path, float(time_s[1] - time_s[0]))
    found: list[Revolution] = []
    for leg in _legs(curve.phase):
        stretch = _on_path(time_s, curve, space, _trimmed(time_s, curve, leg))
        found += _revolutions(time_s, curve, space, stretch)
    return found


def _legs(phase: FloatArray) -> list[_Range]:
    """Stretches in which the phase goes one way, by pivots that turn back at least MIN_REVERSAL."""
    pivots, sign, extreme = [0], 0, 0
    for i in range(1, len(phase)):
        if sign == 0:
            if abs(phase[i] - phase[0]) >= MIN_REVERSAL:
                sign, extreme = (1 if phase[i] > phase[0] else -1), i
        elif sign * (phase[i] - phase[extreme]) > 0:
            extreme = i
        elif sign * (phase[extreme] - phase[i]) >= MIN_REVERSAL:
            pivots.append(extreme)
            sign, extreme = -sign, i
    pivots.append(extreme)
    return [(a, b) for a, b in pairwise(pivots) if b > a]


def _trimmed(time_s: FloatArray, curve: Curve, leg: _Range) -> _Range:
    """A leg without standing still, and the way to and from the circle, at both ends."""
    first, last = leg
    step = float(time_s[1] - time_s[0])
    radius = np.linalg.norm(curve.xy, axis=1)
    usual_radius = float(np.median(radius[first : last + 1]))
    rate = np.abs(np.gradient(curve.phase, step))
    usual_rate = np.percentile(rate[first : last + 1], USUAL_RATE_PERCENTILE)
    going = (rate > PAUSE_SHARE * usual_rate) & (radius < NEAR_RADIUS * usual_radius)
    bursts = [
        (first + a, first + b - 1)
        for a, b in runs(_without_short_gaps(going[first : last + 1], round(MIN_PAUSE_S / step)))
    ]
    # Bringing the arm up and down turns the phase a little; a rest separates it from the circles.
    while len(bursts) > 1 and _turned_by(curve, bursts[0]) < MAX_APPROACH:
        bursts.pop(0)
    while len(bursts) > 1 and _turned_by(curve, bursts[-1]) < MAX_APPROACH:
        bursts.pop()
    return (bursts[0][0], bursts[-1][1]) if bursts else (first, first)


def _on_path(time_s: FloatArray, curve: Curve, space: Curve, stretch: _Range) -> _Range:
    """A stretch of circles without the way up to the path of those in its middle and down from it.

    Straight from rest into the first circle the phase runs on and no stop parts the two, but only
    on a circle is the arm where it passes again. A single circle has no middle to go by.
    """
    first, last = stretch
    turned = np.abs(curve.phase[first : last + 1] - curve.phase[first])
    if turned[-1] < 1 + MIN_REVOLUTION:
        return stretch
    between = (turned > MAX_APPROACH) & (turned < turned[-1] - MAX_APPROACH)
    middle = first + np.flatnonzero(between)
    inward = np.arange(first, last + 1)
    begins, ends = (_arrival(curve, space, way, middle) for way in (inward, inward[::-1]))
    return (
        first if time_s[begins] - time_s[first] < MIN_APPROACH_S else begins,
        last if time_s[last] - time_s[ends] < MIN_APPROACH_S else ends,
    )


def _arrival(curve: Curve, space: Curve, inward: IntArray, middle: IntArray) -> int:
    """The first sample on the path of the ``middle`` ones; ``inward`` lists samples from an end on.

    The end itself where it is on that path, or is so far along that it is another circle.
    """
    at = 0
    while not all(_near(one.xy, int(inward[at]), middle) for one in (curve, space)):
        at += 1
    if at == 0 or _turned_by(curve, (inward[0], inward[at])) >= MIN_PARTIAL_REVOLUTION:
        return int(inward[0])
    steps = np.abs(np.diff(curve.phase[inward[at:]]))
    settling = np.cumsum(steps) < SETTLING
    return int(inward[at + np.argmin(np.where(settling, steps, np.inf))])


def _near(xy: FloatArray, sample: int, middle: IntArray) -> bool:
    """Whether the path (n, 2) at a sample is where it passes in the ``middle`` ones, too."""
    radius = np.median(np.linalg.norm(xy[middle], axis=1))
    distance = np.linalg.norm(xy[middle] - xy[sample], axis=1).min()
    return bool(distance <= ON_PATH_SHARE * radius)


def _turned_by(curve: Curve, stretch: _Range) -> float:
    """How many revolutions the phase goes through, regardless of the way."""
    return abs(float(curve.phase[stretch[1]] - curve.phase[stretch[0]]))


def _without_short_gaps(flags: BoolArray, shorter_than: int) -> BoolArray:
    """Fill stretches of False between True ones that are shorter than that many samples."""
    closed = flags.copy()
    for (_, stop), (start, _) in pairwise(runs(flags)):
        if start - stop < shorter_than:
            closed[stop:start] = True
    return closed


def _revolutions(
    time_s: FloatArray, curve: Curve, space: Curve, stretch: _Range
) -> list[Revolution]:
    """Revolutions of one trimmed leg, timed by ``curve``; size and shape are those in ``space``."""
    first, last = stretch
    turned = _turned_by(curve, stretch)
    whole = int(turned + 1 - MIN_REVOLUTION)
    if whole == 0 and turned < MIN_PARTIAL_REVOLUTION:
        return []
    travelled = np.abs(curve.phase[first : last + 1] - curve.phase[first])
    travelled = np.maximum.accumulate(travelled)
    # A remainder too small for a circle begun is shared out among the whole ones.
    exact = whole > 0 and turned - whole < MIN_PARTIAL_REVOLUTION
    marks = list(np.arange(whole + 1) * (turned / whole if exact else 1.0))
    if not exact:
        marks.append(turned)
    times = np.interp(marks, travelled, time_s[first : last + 1])
    direction: Direction = "forward" if curve.phase[last] < curve.phase[first] else "backward"
    found = []
    for (from_mark, to_mark), (start_s, end_s) in zip(
        pairwise(marks), pairwise(times), strict=True
    ):
        shape = _shape(space.xy[(time_s >= start_s) & (time_s <= end_s)])
        found.append(
            Revolution(float(start_s), float(end_s), direction, to_mark - from_mark, *shape)
        )
    return found


def _shape(xy: FloatArray) -> tuple[float, float]:
    """Mean radius in degrees of arm and roundness: least over greatest width of the path (n, 2)."""
    if len(xy) < _MIN_SHAPE_SAMPLES:
        return float("nan"), float("nan")
    angles = np.radians(np.arange(0, 180, _WIDTH_STEP_DEG))
    widths = np.ptp(xy @ np.stack([np.cos(angles), np.sin(angles)]), axis=0)
    radius_deg = float(np.degrees(np.arcsin(np.clip(widths.mean() / 2, 0, 1))))
    return radius_deg, float(widths.min() / widths.max())
