"""Two cameras and one body: what is adjusted until both pictures fit."""

from dataclasses import dataclass, replace

import cv2
import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.views.observation import TRUNK_M, Observation, bone_belief, bone_vectors
from formcheck.views.skeleton import KIND, KINDS, TRUNK_KIND

USUAL_FOCAL, FOCAL_SD = 0.9, 0.05
"""Focal length of a phone's main camera as a share of the picture's longer side, and the standard
deviation of its logarithm. Angles do not change by a degree for 0.03-0.2. Read on rendered people."""
TURN, SHIFT, FOCAL, OFFSET, BONES = slice(0, 3), slice(3, 6), slice(6, 8), 8, slice(9, 9 + KINDS)
"""Places of the shared parameters: rotation, translation, both logarithms of the focal length, time
offset, lengths of bones. Mechanical."""
SHARED = 9 + KINDS
"""How many those are. Mechanical."""
_LEAST_BONE_M = 0.02
"""No bone becomes shorter. Mechanical."""


@dataclass(frozen=True, slots=True, eq=False)
class Rig:
    """The second camera in the axes of the first, both lenses, the clocks and the bones.

    A point x of the first camera's axes is ``rotation`` (3, 3) x + ``translation_m`` (3,) in the
    second's. ``focal_px`` (2,); ``bones_m`` (KINDS,); ``offset_s`` is what the second camera's
    times lack still.
    """

    rotation: FloatArray
    translation_m: FloatArray
    focal_px: FloatArray
    bones_m: FloatArray
    offset_s: float = 0.0

    def changed(self, step: FloatArray) -> "Rig":
        """The rig after a step (SHARED,) of its parameters."""
        return replace(
            self,
            rotation=cv2.Rodrigues(step[TURN].reshape(3, 1))[0] @ self.rotation,
            translation_m=self.translation_m + step[SHIFT],
            focal_px=self.focal_px * np.exp(step[FOCAL]),
            offset_s=self.offset_s + float(step[OFFSET]),
            bones_m=np.maximum(self.bones_m + step[BONES], _LEAST_BONE_M),
        )

    @property
    def angle_deg(self) -> float:
        """The angle between both lines of sight, 0-180."""
        return float(np.degrees(np.arccos(np.clip(self.rotation[2, 2], -1, 1))))


def usual_focal_px(a: Observation, b: Observation) -> FloatArray:
    """The focal lengths (2,) to start from."""
    return np.asarray(USUAL_FOCAL * np.array([a.long_side_px, b.long_side_px]))


def usual_bones_m(a: Observation, b: Observation) -> FloatArray:
    """Lengths (KINDS,) of the bones as both cameras' landmarks in space have them."""
    lengths, known = (
        np.concatenate([of(one) for one in (a, b)])
        for of in (
            lambda one: np.linalg.norm(np.nan_to_num(bone_vectors(one.world_m)), axis=2),
            lambda one: bone_belief(one) > 0,
        )
    )
    found = np.full(KINDS, TRUNK_M)
    for kind in range(KINDS):
        own = lengths[:, kind == KIND][known[:, kind == KIND]]
        if len(own):
            found[kind] = np.median(own)
    return np.asarray(found * (TRUNK_M / found[TRUNK_KIND]))
