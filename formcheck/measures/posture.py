"""The subject's posture: landmarks on an even time base, filtered, with the trunk's own axes.

Body landmarks give no breastbone or spine, so the trunk is the usual stand-in: up from mid-hip to
mid-shoulder, left from right to left shoulder made square to it, forward = left x up. It mixes
movement of the shoulder girdle and the pelvis into "the trunk".
"""

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.arrays import BoolArray, FloatArray, SingleArray
from formcheck.landmarks.track import Joint, LandmarkTrack
from formcheck.measures.angles import unit
from formcheck.measures.table import SIDES, Side
from formcheck.measures.timebase import known_at, low_pass, resample, uniform_times

MIN_VISIBILITY = 0.3
"""Visibility under which a landmark counts as not seen; hidden limbs of rendered people, placed
3-44 cm wrong, had 0.05-0.5 and seen ones mostly above 0.9. Read on rendered people."""
SOFT_VISIBILITY = {"elbow": 0.2, "wrist": 0.1}
"""The same for the arm that works, where the joint is nearer to the camera than the trunk, which then
cannot hide it: hands on the back, lifted off it and filmed from behind, score 0.13 to 0.3 and are read
within two uncertainties. Read on rendered people."""

SQUARE_SHARE, HARDLY_SQUARE_SHARE = 0.7, 0.3
"""Share of the trunk's length that the picture must show to give the scale, and to give a rough one.
A proposal."""
TRUNK_SHARE_OF_STATURE = 0.288
"""Shoulder to hip as a share of stature. Published: Drillis & Contini 1966, by way of published ratio
tables."""
DEFAULT_STATURE_M = 1.70
"""Assumed where the subject's stature is not given; centimetre measures scale with it.
A proposal."""
_RATE_HZ = 30.0
"""Assumed of a track of a single time. Mechanical."""

_SIDE_JOINTS: dict[str, dict[Side, Joint]] = {
    "ear": {"left": Joint.LEFT_EAR, "right": Joint.RIGHT_EAR},
    "shoulder": {"left": Joint.LEFT_SHOULDER, "right": Joint.RIGHT_SHOULDER},
    "elbow": {"left": Joint.LEFT_ELBOW, "right": Joint.RIGHT_ELBOW},
    "wrist": {"left": Joint.LEFT_WRIST, "right": Joint.RIGHT_WRIST},
    "hip": {"left": Joint.LEFT_HIP, "right": Joint.RIGHT_HIP},
    "knee": {"left": Joint.LEFT_KNEE, "right": Joint.RIGHT_KNEE},
    "ankle": {"left": Joint.LEFT_ANKLE, "right": Joint.RIGHT_ANKLE},
}


@dataclass(frozen=True, slots=True, eq=False)
class Posture:
    """Landmarks (n, 33, ...) on an even time base, low-passed, NaN where the subject is unknown.

    ``image`` (n, 33, 2) in pixels, x right and y DOWN; ``world`` (n, 33, 3) in metres in camera
    axes (x right, y down, z away); ``up``, ``left``, ``forward`` (n, 3) are the trunk's unit axes
    in camera axes; ``trunk_px`` (n,) is the length of the trunk in the picture, were it square on,
    NaN in a clip that never shows it nearly so, and ``scale_px`` (n,) the same or else a rough one;
    ``trunk_cm`` is its length by the subject's stature, ``width`` and ``height`` are the picture's
    own, in pixels; ``exchanged`` (n,) is True where left and right had to be put back.
    """

    time_s: FloatArray
    rate_hz: float
    image: SingleArray
    world: SingleArray
    visibility: SingleArray
    bridged: BoolArray
    exchanged: BoolArray
    up: FloatArray
    left: FloatArray
    forward: FloatArray
    trunk_px: FloatArray
    scale_px: FloatArray
    trunk_cm: float
    width: int
    height: int

    def part(self, start: int, stop: int) -> "Posture":
        """The posture at the times from index ``start`` to before ``stop``."""
        own = {
            field.name: getattr(self, field.name)[start:stop]
            for field in fields(self)
            if isinstance(getattr(self, field.name), np.ndarray)
        }
        return replace(self, **own)

    def image_of(self, name: str, side: Side) -> FloatArray:
        """A joint in the picture, (n, 2) pixels."""
        return np.asarray(self.image[:, _SIDE_JOINTS[name][side]], dtype=float)

    def world_of(self, name: str, side: Side) -> FloatArray:
        """A joint in space, (n, 3) metres in camera axes."""
        return np.asarray(self.world[:, _SIDE_JOINTS[name][side]], dtype=float)

    def seen(self, name: str, side: Side) -> BoolArray:
        """(n,) True where the model believes it sees the joint, or where nothing can hide it."""
        visibility = self.visibility[:, _SIDE_JOINTS[name][side]]
        seen = visibility >= MIN_VISIBILITY
        if name in SOFT_VISIBILITY and side == self.busier:
            trunk = (self.world_middle("shoulder") + self.world_middle("hip")) / 2
            nearer = self.world_of(name, side)[:, 2] < trunk[:, 2]
            seen = seen | (nearer & (visibility >= SOFT_VISIBILITY[name]))
        return np.asarray(seen)

    @property
    def busier(self) -> Side:
        """The side whose elbow and wrist travel further about the shoulder in the picture."""
        travel = {side: self._travel(side) for side in SIDES}
        return max(SIDES, key=lambda side: travel[side])

    def _travel(self, side: Side) -> float:
        shoulder = self.image_of("shoulder", side)
        about = [self.image_of(name, side) - shoulder for name in ("elbow", "wrist")]
        known = np.isfinite(shoulder[:, 0])
        if not known.any():
            return 0.0
        low, high = np.percentile(np.array(about)[:, known], (5, 95), axis=1)
        return float(np.linalg.norm(high - low, axis=1).max())

    def visibility_of(self, name: str, side: Side) -> SingleArray:
        """(n,) the model's belief that it sees a joint, 0-1."""
        return self.visibility[:, _SIDE_JOINTS[name][side]]

    def world_middle(self, name: str) -> FloatArray:
        """Midpoint of the left and right joint in space, (n, 3)."""
        return np.asarray((self.world_of(name, "left") + self.world_of(name, "right")) / 2)

    @property
    def trunk_seen(self) -> BoolArray:
        """(n,) True where a shoulder and a hip are seen: without them the trunk is a guess."""
        both = [self.seen(name, "left") | self.seen(name, "right") for name in ("shoulder", "hip")]
        return np.asarray(both[0] & both[1])

    def image_middle(self, name: str) -> FloatArray:
        """Midpoint of the left and right joint in the picture, (n, 2)."""
        return np.asarray((self.image_of(name, "left") + self.image_of(name, "right")) / 2)

    def into_trunk(self, vectors: FloatArray, side: Side) -> FloatArray:
        """Camera-axes vectors (n, 3) as (lateral away from the body, forward, up)."""
        outward = self.left if side == "left" else -self.left
        parts = (outward, self.forward, self.up)
        return np.stack([np.sum(vectors * axis, axis=1) for axis in parts], axis=1)


def posture_from(track: LandmarkTrack, *, stature_m: float = DEFAULT_STATURE_M) -> Posture:
    """Bring a track to an even time base, bridge short gaps, filter, and find the trunk's axes."""
    grid = uniform_times(track.time_s)
    filled, bridged = known_at(track.time_s, track.tracked, grid)
    rate_hz = 1 / float(grid[1] - grid[0]) if len(grid) > 1 else _RATE_HZ

    def even(values: SingleArray, *, steady: bool) -> SingleArray:
        whole = np.empty((len(grid), *values.shape[1:]), np.float32)
        for joint in range(values.shape[1]):  # all at once take several times the memory
            one = resample(track.time_s, values[:, joint], track.tracked, grid)
            one[~filled] = np.nan
            whole[:, joint] = low_pass(one, rate_hz) if steady else one
        return whole

    image = even(track.image_px[:, :, :2], steady=True)
    world = even(track.world_m, steady=True)
    visibility = np.nan_to_num(even(track.visibility, steady=False), copy=False)
    up, left, forward = trunk_axes(world)
    trunk_px = _trunk_length_px(image, up, SQUARE_SHARE)
    return Posture(
        time_s=grid,
        rate_hz=rate_hz,
        image=image,
        world=world,
        visibility=visibility,
        bridged=bridged,
        exchanged=np.interp(grid, track.time_s, _flags(track)) > 0,
        up=up,
        left=left,
        forward=forward,
        trunk_px=trunk_px,
        scale_px=np.where(
            np.isfinite(trunk_px), trunk_px, _trunk_length_px(image, up, HARDLY_SQUARE_SHARE)
        ),
        trunk_cm=TRUNK_SHARE_OF_STATURE * stature_m * 100,
        width=track.width,
        height=track.height,
    )


def _flags(track: LandmarkTrack) -> BoolArray:
    """(n,) True at the times of the track at which left and right were put back."""
    return np.isin(np.arange(len(track.time_s)), track.exchanged)


def trunk_axes(world: NDArray[np.floating]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The trunk's unit axes up, left and forward (n, 3) from world landmarks (n, 33, 3)."""
    shoulder_l, shoulder_r, hip_l, hip_r = (
        np.asarray(world[:, joint], dtype=float)
        for joint in (
            *(Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER),
            *(Joint.LEFT_HIP, Joint.RIGHT_HIP),
        )
    )
    up = unit((shoulder_l + shoulder_r - hip_l - hip_r) / 2)
    across = shoulder_l - shoulder_r
    left = unit(across - np.sum(across * up, axis=1, keepdims=True) * up)
    return up, left, np.cross(left, up)


def _trunk_length_px(image: SingleArray, up: FloatArray, square_share: float) -> FloatArray:
    """Trunk length in the picture corrected for foreshortening, smoothed by the clip's median.

    The distance to the camera changes little within a set, so where the picture plane shows less
    than ``square_share`` of the trunk's length the clip's own median tells it better.
    """
    shoulders = image[:, [Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER]].mean(axis=1, dtype=float)
    hips = image[:, [Joint.LEFT_HIP, Joint.RIGHT_HIP]].mean(axis=1, dtype=float)
    shown = np.linalg.norm(shoulders - hips, axis=1)
    in_plane = np.linalg.norm(up[:, :2], axis=1)
    length = np.where(in_plane > square_share, shown / np.maximum(in_plane, square_share), np.nan)
    known = np.isfinite(length)
    typical = float(np.median(length[known])) if known.any() else np.nan
    return np.where(known, length, typical)
