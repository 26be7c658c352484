"""What one camera saw of the subject: the landmarks that matter here, on any times."""

from dataclasses import dataclass, fields, replace

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray, IntArray
from formcheck.landmarks.track import LandmarkTrack
from formcheck.views.skeleton import ENDS, JOINTS, KIND, MIRRORED, STARTS, TRUNK_KIND

TRUNK_M = 0.5
"""Length of the trunk's sides while two cameras are joined: nothing in the pictures tells it.
Mechanical."""
UNIT_SHARE = 0.30
"""The length of a trunk as a share of the diagonal of a standing person's box in the picture.
Published: proportions of Drillis & Contini 1966, by way of published ratio tables."""
_LEAST_VISIBILITY = 0.15
"""The model's own belief counts down to here. A proposal."""


@dataclass(frozen=True, slots=True, eq=False)
class Observation:
    """Landmarks of one camera at n times, joints in the order of ``skeleton.JOINTS``.

    ``image_px`` (n, j, 2) from the middle of the picture, x right, y down; ``world_m`` (n, j, 3) in
    camera axes (x right, y down, z away), scaled to ``TRUNK_M``; ``velocity_px`` (n, j, 2) a second;
    ``belief`` (n, j) 0-1, 0 where a landmark is unknown, when the others are zero. ``unit_px`` is
    about a trunk's length in the picture, ``long_side_px`` the longer side of the picture.
    """

    time_s: FloatArray
    image_px: FloatArray
    world_m: FloatArray
    velocity_px: FloatArray
    belief: FloatArray
    unit_px: float
    long_side_px: float

    @property
    def known(self) -> BoolArray:
        """(n, j) True where the landmark is known."""
        return np.asarray(self.belief > 0)

    def take(self, index: IntArray | BoolArray | slice) -> "Observation":
        """The same at some of the times."""
        own = {
            field.name: getattr(self, field.name)[index]
            for field in fields(self)
            if isinstance(getattr(self, field.name), np.ndarray)
        }
        return replace(self, **own)

    def at(self, times_s: FloatArray) -> "Observation":
        """The same at other times (m,), between the known ones; unknown outside them."""
        before = np.clip(np.searchsorted(self.time_s, times_s) - 1, 0, len(self.time_s) - 2)
        step = self.time_s[before + 1] - self.time_s[before]
        share = (times_s - self.time_s[before]) / step
        inside = (share >= -1e-6) & (share <= 1 + 1e-6)

        def between(values: FloatArray) -> FloatArray:
            along = share.reshape(-1, *(1,) * (values.ndim - 1))
            return np.asarray(values[before] * (1 - along) + values[before + 1] * along)

        both = self.known[before] & self.known[before + 1] & inside[:, None]
        return replace(
            self,
            time_s=times_s,
            image_px=between(self.image_px),
            world_m=between(self.world_m),
            velocity_px=between(self.velocity_px),
            belief=np.where(both, between(self.belief), 0.0),
        )

    def exchanged(self, flags: BoolArray) -> "Observation":
        """The same with left and right exchanged at the times where ``flags`` (n,) is True.

        A body that was taken for its mirror image has no use in space, so that it counts as flat.
        """

        def turned(values: FloatArray) -> FloatArray:
            where = flags.reshape(-1, *(1,) * (values.ndim - 1))
            return np.where(where, values[:, MIRRORED], values)

        return replace(
            self,
            image_px=turned(self.image_px),
            velocity_px=turned(self.velocity_px),
            belief=turned(self.belief),
            world_m=np.where(flags[:, None, None], np.nan, self.world_m),
        )


def observe(track: LandmarkTrack) -> Observation:
    """The landmarks of a track that two cameras are joined by."""
    joints = list(JOINTS)
    image = np.asarray(track.image_px[:, joints, :2], dtype=float)
    image = image - np.array([track.width, track.height]) / 2
    world = np.asarray(track.world_m[:, joints], dtype=float)
    known = np.isfinite(image).all(axis=2) & np.isfinite(world).all(axis=2)
    low, high = (
        np.stack([reduce(image[known.all(axis=1)], axis=1) for reduce in (np.min, np.max)])
        if known.all(axis=1).any()
        else np.zeros((2, 1, 2))
    )
    belief = np.clip(np.nan_to_num(track.visibility[:, joints]), _LEAST_VISIBILITY, 1.0)
    image, world = np.nan_to_num(image), np.nan_to_num(world)
    velocity = np.gradient(image, track.time_s, axis=0) if len(track.time_s) > 1 else 0 * image
    lengths = np.linalg.norm(world[:, ENDS] - world[:, STARTS], axis=2)[:, KIND == TRUNK_KIND]
    trunk_m = float(np.median(lengths[known.all(axis=1)])) if known.all(axis=1).any() else TRUNK_M
    return Observation(
        time_s=np.asarray(track.time_s, dtype=float),
        image_px=image,
        world_m=world * (TRUNK_M / trunk_m),
        velocity_px=np.where(known[:, :, None], velocity, 0.0),
        belief=np.where(known, belief, 0.0),
        unit_px=UNIT_SHARE * float(np.median(np.linalg.norm(high - low, axis=1))),
        long_side_px=float(max(track.width, track.height)),
    )


def bone_vectors(world_m: FloatArray) -> FloatArray:
    """Vectors (n, bones, 3) from the start to the end of each bone."""
    return np.asarray(world_m[:, ENDS] - world_m[:, STARTS])


def bone_belief(seen: Observation) -> FloatArray:
    """(n, bones): the lesser belief of both ends, 0 where the bone is not known in space."""
    lesser = np.minimum(seen.belief[:, STARTS], seen.belief[:, ENDS])
    return np.where(np.isfinite(bone_vectors(seen.world_m)).all(axis=2), lesser, 0.0)
