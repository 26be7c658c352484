"""Where the second camera may stand by a first look: several starts for the adjustment.

Two views of a small subject from afar hardly tell how far the cameras are turned from each other, and
an adjustment that starts badly can stay there.
"""

import cv2
import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.views.observation import Observation, bone_belief, bone_vectors

TURNS_DEG = (0.0, 30.0, -30.0)
"""Turns about the vertical by which the first guess is varied: it is 9-50 degrees wrong.
Read on rendered people."""
_ROUNDS, _MISFIT_M = 5, 0.1
"""Rounds of the robust rotation, and the misfit of a bone at which it counts half. A proposal."""
_SURE = 0.6
"""Belief in a landmark from which it is used for the essential matrix. A proposal."""
_EPIPOLAR_SHARE = 0.05
"""How far off its line a landmark may be there, in trunk lengths. A proposal."""
_LEAST_POINTS, _LEAST_DISTANCE = 30, 0.3
"""Landmarks that an essential matrix is found from, and the least distance of the cameras in
metres. A proposal."""

Start = tuple[FloatArray, FloatArray]
"""A rotation (3, 3) and a translation (3,) from the axes of the first camera to the second's."""


def starts(a: Observation, b: Observation, focal_px: FloatArray) -> list[Start]:
    """Possible places of the second camera, of two observations at the same times."""
    rotation = world_rotation(a, b)
    place_a, place_b = placed(a, focal_px[0]), placed(b, focal_px[1])
    both = np.isfinite(place_a).all(axis=1) & np.isfinite(place_b).all(axis=1)
    if not both.any():
        return []
    place_a, place_b = place_a[both], place_b[both]
    found = []
    for turn_deg in TURNS_DEG:
        turned = cv2.Rodrigues(np.array([0.0, np.radians(turn_deg), 0.0]))[0] @ rotation
        found.append((turned, np.median(place_b - place_a @ turned.T, axis=0)))
    essential = _essential(a, b, focal_px)
    if essential is not None:
        turned, direction = essential
        along = np.median((place_b - place_a @ turned.T) @ direction)
        found.append((turned, direction * max(float(along), _LEAST_DISTANCE)))
    return found


def world_rotation(a: Observation, b: Observation) -> FloatArray:
    """The rotation (3, 3) that takes the bones in space of one camera to those of the other."""
    first, second = np.nan_to_num(bone_vectors(a.world_m)), np.nan_to_num(bone_vectors(b.world_m))
    weight = np.minimum(bone_belief(a), bone_belief(b))
    rotation = _kabsch(first, second, weight)
    for _ in range(_ROUNDS):
        misfit = np.linalg.norm(second - first @ rotation.T, axis=2)
        rotation = _kabsch(first, second, weight / (1 + (misfit / _MISFIT_M) ** 2))
    return rotation


def _kabsch(first: FloatArray, second: FloatArray, weight: FloatArray) -> FloatArray:
    """The rotation of least squares; Kabsch 1976, Acta Cryst A32:922."""
    u, _, vt = np.linalg.svd(np.einsum("nk,nki,nkj->ij", weight, second, first))
    u[:, 2] *= np.sign(np.linalg.det(u @ vt))
    return np.asarray(u @ vt)


def placed(seen: Observation, focal_px: float) -> FloatArray:
    """Where the body must be (n, 3) for its landmarks in space to lie over those in the picture."""
    known = belief_in_space(seen)
    x, y = seen.image_px[..., 0], seen.image_px[..., 1]
    world = np.nan_to_num(seen.world_m)
    zero, ones = np.zeros_like(x), np.full_like(x, focal_px)
    rows = np.stack([np.stack([ones, zero, -x], -1), np.stack([zero, ones, -y], -1)], axis=2)
    wanted = np.stack(
        [
            x * world[..., 2] - focal_px * world[..., 0],
            y * world[..., 2] - focal_px * world[..., 1],
        ],
        axis=2,
    )
    left = np.einsum("nk,nkri,nkrj->nij", known, rows, rows)
    right = np.einsum("nk,nkri,nkr->ni", known, rows, wanted)
    enough = (known > 0).sum(axis=1) >= 4
    place = np.full((len(x), 3), np.nan)
    place[enough] = np.linalg.solve(left[enough], right[enough][..., None])[..., 0]
    return place


def belief_in_space(seen: Observation) -> FloatArray:
    """Belief (n, j) in each landmark, 0 where it is not known in space."""
    return np.where(np.isfinite(seen.world_m).all(axis=2), seen.belief, 0.0)


def _essential(a: Observation, b: Observation, focal_px: FloatArray) -> Start | None:
    sure = (a.belief > _SURE) & (b.belief > _SURE)
    if sure.sum() < _LEAST_POINTS:
        return None
    first, second = a.image_px[sure] / focal_px[0], b.image_px[sure] / focal_px[1]
    tolerance = _EPIPOLAR_SHARE * min(a.unit_px / focal_px[0], b.unit_px / focal_px[1])
    cv2.setRNGSeed(1)
    matrix, inliers = cv2.findEssentialMat(
        first, second, np.eye(3), cv2.RANSAC, 0.999, float(tolerance)
    )
    if matrix is None or matrix.shape[0] < 3:
        return None
    _, rotation, direction, _ = cv2.recoverPose(matrix[:3], first, second, np.eye(3), mask=inliers)
    return np.asarray(rotation, dtype=float), np.asarray(direction, dtype=float).ravel()
