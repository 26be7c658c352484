"""The path of the elbow about the shoulder as a plane curve, with its phase in revolutions."""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.measures.table import ArmPath
from formcheck.movements.signals import EXTREME_PERCENTILES, smoothed

SMOOTHING_S = 0.12
"""Spread of the Gaussian window that the path is smoothed by. A proposal."""
MIN_OPENNESS = 0.3
"""Width over length under which the picture shows the circle too edge-on to read its phase.
A proposal."""
FAST_PERCENTILE = 90.0
"""The speed of the path's fast stretches, but for single bad readings. A proposal."""
MOVING_SHARE = 0.3
"""Share of that speed from which the path counts as moving. A proposal."""
CIRCLING_RADIUS = 1.8
"""What lies further from the centre than this many times the median radius does not circle about it,
as the way of the arm up to the circle does not. A proposal."""
AGREEMENT_WEIGHT = 0.5
"""How much the turning in space counts beside the direction of the circle's axis. A proposal."""
_TINY = 1e-12
"""Keeps the axes of a flat path apart from zero. Mechanical."""
_ALONG_UP = 0.95
"""An axis closer to "up" than this cosine takes another direction for reference. Mechanical."""


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A path in a plane: ``xy`` (n, 2) about its centre, and ``phase`` (n,) in revolutions.

    ``openness`` is the width over the length of the path, 0-1; 1 is a circle.
    """

    xy: FloatArray
    phase: FloatArray
    openness: float

    def mirrored(self) -> "Curve":
        """The same curve seen from the other side."""
        return Curve(self.xy * [-1.0, 1.0], -self.phase, self.openness)


def curves_of(path: ArmPath, step_s: float) -> tuple[Curve, Curve]:
    """The curve to read the phase from, and the curve in space to read size and shape from.

    The picture's phase is steadier, unless it shows the circle edge-on.
    """
    space = _in_space(smoothed(path.direction, SMOOTHING_S / step_s), step_s)
    picture = _about_centre(smoothed(path.image, SMOOTHING_S / step_s), step_s)
    if picture.openness < MIN_OPENNESS and space.openness > picture.openness:
        return space, space
    inside = _seen_from_inside(path, space, picture)
    return (picture.mirrored() if inside else picture), space


def _in_space(directions: FloatArray, step_s: float) -> Curve:
    """Directions (n, 3) seen from outside along the axis of their curve, with y toward the head."""
    axis = directions[_moving(directions, step_s)].mean(axis=0)
    axis = axis / np.linalg.norm(axis)
    up = np.array([0.0, 0.0, 1.0]) if abs(axis[2]) < _ALONG_UP else np.array([0.0, 1.0, 0.0])
    across = np.cross(up, axis)
    across /= np.linalg.norm(across)
    upward = np.cross(axis, across)
    return _about_centre(np.stack([directions @ across, directions @ upward], axis=1), step_s)


def _about_centre(points: FloatArray, step_s: float) -> Curve:
    """The curve of points (n, 2) about the centre of what of them circles."""
    moving = _moving(points, step_s)
    centre = points[moving].mean(axis=0)
    # Twice more on what circles about that centre, so that bringing the arm up is left out.
    for _ in range(2):
        radius = np.linalg.norm(points - centre, axis=1)
        circling = moving & (radius < CIRCLING_RADIUS * np.median(radius[moving]))
        low, high = np.percentile(points[circling], EXTREME_PERCENTILES, axis=0)
        centre = (low + high) / 2
    xy = points - centre
    # A circle seen at a slant is an ellipse, and its phase runs unevenly: stretch it to a circle.
    spread, axes = np.linalg.eigh(np.cov(xy[circling].T))
    spread = np.maximum(spread, _TINY)
    round_xy = xy @ axes / np.sqrt(spread) @ axes.T
    phase = np.unwrap(np.arctan2(round_xy[:, 1], round_xy[:, 0])) / (2 * np.pi)
    return Curve(xy, phase, float(np.sqrt(spread[0] / spread[1])))


def _moving(points: FloatArray, step_s: float) -> BoolArray:
    """(n,) True where the path moves, at the pace of its own fast stretches."""
    speed = np.linalg.norm(np.gradient(points, step_s, axis=0), axis=1)
    return np.asarray(speed >= MOVING_SHARE * np.percentile(speed, FAST_PERCENTILE))


def _seen_from_inside(path: ArmPath, space: Curve, picture: Curve) -> bool:
    """Whether the picture shows the circle from inside, and so mirrored.

    Whether the axis points toward the camera says so, and so does the turning in space; the two are
    weighed together because either is weak when the axis lies in the picture.
    """
    toward = float(np.nanmean(path.toward_camera))
    steps = np.diff(space.phase) * np.diff(picture.phase)
    scale = float(np.abs(steps).sum())
    agreement = float(steps.sum() / scale) if scale > 0 else 0.0
    return toward + AGREEMENT_WEIGHT * agreement < 0
