"""Shoulder and elbow angles from arm directions in the trunk's axes.

Trunk axes here are (lateral away from the body, forward, up along the trunk) for either arm, so the
left arm is already mirrored. Angles follow the clinical neutral-zero method for elbow flexion and
elevation, and the ISB recommendation (Wu et al. 2005, J Biomech 38:981-992) for plane of elevation.
Axial rotation is tilt-and-torsion (Clin Biomech 2022;92:105573), internal positive, 0 with the
forearm pointing ahead when the arm hangs: it does not depend on the plane of elevation.
"""

import numpy as np

from formcheck.catalogue.arrays import FloatArray

POLE_DEG = 30.0
"""Within this of hanging or overhead the plane of elevation means nothing, as its noise grows as
1 / sin. A proposal."""

NEAR_POLE_DEG = 10.0
"""Nearer than this the uncertainty of the plane grows no further: it is a guess. A proposal."""

STRAIGHT_DEG = 20.0
"""Below this elbow flexion the forearm does not tell the upper arm's axial rotation. A proposal."""
_TINY = 1e-12
"""Vectors shorter than this have no direction. Mechanical."""
_LEAST_SCALE = 1e-9
"""Keeps the division safe with the arm straight overhead, where the rotation has no limit. Mechanical."""


def unit(vectors: FloatArray) -> FloatArray:
    """Vectors (..., k) scaled to length 1; NaN where the length is zero."""
    length = np.linalg.norm(vectors, axis=-1, keepdims=True)
    return np.asarray(vectors / np.where(length > _TINY, length, np.nan))


def angle_between_deg(a: FloatArray, b: FloatArray) -> FloatArray:
    """Angle between vectors (..., k), 0-180 degrees, accurate near both ends."""
    ua, ub = unit(a), unit(b)
    return np.asarray(
        np.degrees(
            2 * np.arctan2(np.linalg.norm(ua - ub, axis=-1), np.linalg.norm(ua + ub, axis=-1))
        )
    )


def elevation_deg(upper_arm: FloatArray) -> FloatArray:
    """Humerothoracic elevation (n,) from upper-arm directions (n, 3): 0 hanging, 180 overhead."""
    down = np.broadcast_to(np.array([0.0, 0.0, -1.0]), upper_arm.shape)
    return angle_between_deg(upper_arm, down)


def plane_of_elevation_deg(upper_arm: FloatArray) -> FloatArray:
    """Plane of elevation (n,): 0 out to the side, 90 straight ahead, negative behind (ISB).

    Undefined at the poles; callers hide it within POLE_DEG of them.
    """
    return np.asarray(np.degrees(np.arctan2(upper_arm[..., 1], upper_arm[..., 0])))


def forward_deg(upper_arm: FloatArray) -> FloatArray:
    """How far the upper arm points ahead of the trunk (n,): negative behind."""
    return np.asarray(np.degrees(np.arcsin(np.clip(upper_arm[..., 1], -1, 1))))


def axial_rotation_deg(upper_arm: FloatArray, forearm: FloatArray) -> FloatArray:
    """Tilt-and-torsion axial rotation (n,), internal positive; undefined with a straight elbow."""
    u = unit(upper_arm)
    ahead = _swing_from_hanging(u, np.array([0.0, 1.0, 0.0]))
    outward = _swing_from_hanging(u, np.array([1.0, 0.0, 0.0]))
    across = forearm - np.sum(forearm * u, axis=-1, keepdims=True) * u
    x = np.sum(across * ahead, axis=-1)
    y = np.sum(across * outward, axis=-1)
    return np.asarray(-np.degrees(np.arctan2(y, x)))


def _swing_from_hanging(u: FloatArray, vector: FloatArray) -> FloatArray:
    """``vector`` turned by the shortest rotation that takes the hanging arm to ``u`` (n, 3)."""
    down = np.array([0.0, 0.0, -1.0])
    axis = np.cross(np.broadcast_to(down, u.shape), u)
    cosine = np.sum(u * down, axis=-1, keepdims=True)
    # Rodrigues with sin and cos kept as the cross and dot product; overhead it has no limit.
    along = np.sum(axis * vector, axis=-1, keepdims=True)
    scale = np.maximum(1 + cosine, _LEAST_SCALE)
    return np.asarray(vector * cosine + np.cross(axis, vector) + axis * along / scale)
