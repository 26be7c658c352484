"""Circles of the upper arm: its direction about the shoulder as a curve, counted in full turns.

The curve is read twice: on the sphere, from the arm's direction in space, and in the picture, from
the elbow about the shoulder. Each reading gives a phase about the curve's own centre. The picture's
reading is steadier but mirrored when the circle is seen from inside, so its sense is taken from
whether the circle's axis points toward the camera; where the axis lies nearly in the picture the
reading in space decides.

Direction: forward = at the top of the circle the elbow moves toward the front (for a circle in
front of the chest, toward the midline); backward = the other way.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from formcheck.measures.table import ArmPath
from formcheck.measures.timebase import runs
from formcheck.movements.signals import smoothed
from formcheck.movements.types import Direction

FloatArray = NDArray[np.float64]

SMOOTHING_S = 0.12
MIN_TURN = 0.85
"""Share of a turn that counts as one circle (landmark circles read 0.97-1.03 turns)."""
MIN_PARTIAL_TURN = 0.4
PAUSE_SHARE = 0.12
"""Turning at less than this share of the leg's usual rate is standing still."""
MIN_PAUSE_S = 0.25
"""Shorter hesitations do not part the circles from bringing the arm up or down."""
MAX_LONGER = 1.1
"""What a first or last circle takes more than this many times the others is the way to or from it."""
MAX_APPROACH = 0.55
"""Bringing the arm to or from the circle turns the phase by less than this share of a turn."""
MIN_BACK = 0.15
"""Turning back by less than this share of a turn is a wobble, not a reversal."""
MIN_TRAVEL = 0.05
"""An arm that moves by less than this, in arm or trunk lengths, draws no circle."""
MIN_OPENNESS = 0.3
"""Width over length under which the picture shows the circle too edge-on to read its phase."""


@dataclass(frozen=True, slots=True)
class Turn:
    """One circle; ``turned`` is its share of a full turn, ``roundness`` 0-1 (1 = a true circle)."""

    start_s: float
    end_s: float
    direction: Direction
    turned: float
    radius_deg: float
    roundness: float

    @property
    def complete(self) -> bool:
        """True for a full turn within what landmarks can tell."""
        return bool(self.turned >= MIN_TURN)


def find_circles(time_s: FloatArray, path: ArmPath) -> list[Turn]:
    """Circles of a gap-free arm path sampled evenly at ``time_s`` (n,), in order of time."""
    step = float(time_s[1] - time_s[0])
    if min(float(np.ptp(one, axis=0).max()) for one in (path.direction, path.image)) < MIN_TRAVEL:
        return []

    def smooth(values: FloatArray) -> FloatArray:
        return smoothed(values, SMOOTHING_S / step)

    space = _Curve.on_sphere(smooth(path.direction), step)
    picture = _Curve.in_picture(smooth(path.image), step)
    if picture.flatness < MIN_OPENNESS and space.flatness > picture.flatness:
        curve = space
    else:
        curve = picture.turned(_sense(path, space, picture))
    turns: list[Turn] = []
    for first, last in _legs(curve.phase):
        turns += _turns_of_leg(time_s, curve, space, first, last)
    return turns


@dataclass(frozen=True, slots=True, eq=False)
class _Curve:
    """A closed path in a plane: ``xy`` (n, 2) about its centre, and its phase in turns."""

    xy: FloatArray
    phase: FloatArray
    flatness: float  # width over length of the path, 0-1

    @staticmethod
    def in_picture(points: FloatArray, step: float) -> "_Curve":
        return _Curve._about_centre(points, step)

    @staticmethod
    def on_sphere(directions: FloatArray, step: float) -> "_Curve":
        """Seen along the curve's own axis from outside: y toward the head, x = up x axis."""
        moving = _moving(directions, step)
        axis = directions[moving].mean(axis=0)
        axis = axis / np.linalg.norm(axis)
        up = np.array([0.0, 0.0, 1.0]) if abs(axis[2]) < 0.95 else np.array([0.0, 1.0, 0.0])
        across = np.cross(up, axis)
        across /= np.linalg.norm(across)
        upward = np.cross(axis, across)
        return _Curve._about_centre(
            np.stack([directions @ across, directions @ upward], axis=1), step
        )

    @staticmethod
    def _about_centre(points: FloatArray, step: float) -> "_Curve":
        moving = _moving(points, step)
        centre = points[moving].mean(axis=0)
        # Twice more on what circles about that centre, so that bringing the arm up is left out.
        for _ in range(2):
            radius = np.linalg.norm(points - centre, axis=1)
            near = moving & (radius < 1.8 * np.median(radius[moving]))
            low, high = np.percentile(points[near], [3, 97], axis=0)
            centre = (low + high) / 2
        xy = points - centre
        # A circle seen at a slant is an ellipse; undone, its phase runs evenly again.
        spread, axes = np.linalg.eigh(np.cov(xy[near].T))
        spread = np.maximum(spread, 1e-12)
        round_xy = xy @ axes / np.sqrt(spread) @ axes.T
        phase = np.unwrap(np.arctan2(round_xy[:, 1], round_xy[:, 0])) / (2 * np.pi)
        return _Curve(xy, phase, float(np.sqrt(spread[0] / spread[1])))

    def turned(self, sense: int) -> "_Curve":
        """The same curve seen from the other side where ``sense`` is -1."""
        return self if sense > 0 else _Curve(self.xy * [-1.0, 1.0], -self.phase, self.flatness)


def _moving(points: FloatArray, step: float) -> NDArray[np.bool_]:
    """(n,) True where the path moves, at the pace of its own faster half."""
    speed = np.linalg.norm(np.gradient(points, step, axis=0), axis=1)
    return np.asarray(speed >= 0.3 * np.percentile(speed, 90))


def _sense(path: ArmPath, space: _Curve, picture: _Curve) -> int:
    """+1 when the picture shows the circle from outside, -1 when from inside (mirrored).

    The axis pointing toward or away from the camera says so, and so does the turning in space;
    the two are weighed together because either is weak when the axis lies in the picture.
    """
    toward = float(np.nanmean(path.toward_camera))
    steps_space, steps_picture = np.diff(space.phase), np.diff(picture.phase)
    scale = float(np.abs(steps_space * steps_picture).sum())
    agreement = float((steps_space * steps_picture).sum() / scale) if scale > 0 else 0.0
    return 1 if toward + 0.5 * agreement >= 0 else -1


def _legs(phase: FloatArray) -> list[tuple[int, int]]:
    """Index ranges in which the phase goes one way, by pivots that turn back at least MIN_BACK."""
    pivots, sign, extreme = [0], 0, 0
    for i in range(1, len(phase)):
        if sign == 0:
            if abs(phase[i] - phase[0]) >= MIN_BACK:
                sign, extreme = (1 if phase[i] > phase[0] else -1), i
        elif sign * (phase[i] - phase[extreme]) > 0:
            extreme = i
        elif sign * (phase[extreme] - phase[i]) >= MIN_BACK:
            pivots.append(extreme)
            sign, extreme = -sign, i
    pivots.append(extreme)
    return [(a, b) for a, b in pairwise(pivots) if b > a]


def _turns_of_leg(
    time_s: FloatArray, curve: _Curve, space: _Curve, first: int, last: int
) -> list[Turn]:
    """Full turns of one leg, timed by ``curve``; size and shape are those in ``space``."""
    first, last = _without_pauses(time_s, curve, first, last)
    turned = abs(float(curve.phase[last] - curve.phase[first]))
    whole = int(turned + 1 - MIN_TURN)
    if whole == 0 and turned < MIN_PARTIAL_TURN:
        return []
    travelled = np.abs(curve.phase[first : last + 1] - curve.phase[first])
    travelled = np.maximum.accumulate(travelled)
    # A leg within MIN_TURN of whole circles is shared out among them; a longer rest is a partial one.
    exact = whole > 0 and turned - whole < MIN_PARTIAL_TURN
    marks = list(np.arange(whole + 1) * (turned / whole if exact else 1.0))
    if not exact:
        marks.append(turned)
    times = _without_the_way(np.interp(marks, travelled, time_s[first : last + 1]), whole, exact)
    direction: Direction = "forward" if curve.phase[last] < curve.phase[first] else "backward"
    turns = []
    for mark_a, mark_b, a, b in zip(marks, marks[1:], times, times[1:], strict=False):
        inside = (time_s >= a) & (time_s <= b)
        radius, roundness = _shape(space.xy[inside])
        turns.append(Turn(float(a), float(b), direction, mark_b - mark_a, radius, roundness))
    return turns


def _without_the_way(times: FloatArray, whole: int, exact: bool) -> FloatArray:
    """The marks of turns in time, the first and last turn no longer than the others are.

    Where the arm comes up straight into its first circle, the way there turns along with it.
    """
    lasted = np.diff(times)[:whole]
    if whole > 1:
        times[0] = max(times[0], times[1] - MAX_LONGER * np.median(lasted[1:]))
        if exact:
            times[-1] = min(times[-1], times[-2] + MAX_LONGER * np.median(lasted[:-1]))
    return times


def _without_pauses(time_s: FloatArray, curve: _Curve, first: int, last: int) -> tuple[int, int]:
    """Cut standing still, and the way to and from the circle, off both ends of a leg."""
    step = float(time_s[1] - time_s[0])
    radius = np.linalg.norm(curve.xy, axis=1)
    usual = float(np.median(radius[first : last + 1]))
    rate = np.abs(np.gradient(curve.phase, step))
    going = rate > PAUSE_SHARE * np.percentile(rate[first : last + 1], 75)
    going &= radius < 1.7 * usual
    bursts = [
        (first + a, first + b - 1)
        for a, b in runs(_close(going[first : last + 1], round(MIN_PAUSE_S / step)))
    ]
    # Bringing the arm up and down turns the phase a little; a rest parts it from the circles.
    while len(bursts) > 1 and _turned(curve, bursts[0]) < MAX_APPROACH:
        bursts.pop(0)
    while len(bursts) > 1 and _turned(curve, bursts[-1]) < MAX_APPROACH:
        bursts.pop()
    return (bursts[0][0], bursts[-1][1]) if bursts else (first, first)


def _turned(curve: _Curve, burst: tuple[int, int]) -> float:
    return abs(float(curve.phase[burst[1]] - curve.phase[burst[0]]))


def _close(flags: NDArray[np.bool_], shorter_than: int) -> NDArray[np.bool_]:
    """Fill stretches of False between True ones that are shorter than that many samples."""
    closed = flags.copy()
    on = runs(flags)
    for (_, stop), (start, _) in pairwise(on):
        if start - stop < shorter_than:
            closed[stop:start] = True
    return closed


def _shape(xy: FloatArray) -> tuple[float, float]:
    """Mean radius in degrees of arm and roundness: least over greatest width of the path."""
    if len(xy) < 5:
        return float("nan"), float("nan")
    angles = np.radians(np.arange(0, 180, 10))
    widths = np.ptp(xy @ np.stack([np.cos(angles), np.sin(angles)]), axis=0)
    radius = float(np.degrees(np.arcsin(np.clip(widths.mean() / 2, 0, 1))))
    return radius, float(widths.min() / widths.max())
