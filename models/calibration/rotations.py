"""Rotations of many frames at once: Rodrigues, shortest swing, twist about an axis."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def unit(vectors: Array) -> Array:
    """Vectors (..., 3) scaled to length 1."""
    length = np.linalg.norm(vectors, axis=-1, keepdims=True)
    return np.asarray(vectors / np.maximum(length, 1e-12))


def _cross_matrix(vectors: Array) -> Array:
    x, y, z = np.moveaxis(vectors, -1, 0)
    zero = np.zeros_like(x)
    rows = [[zero, -z, y], [z, zero, -x], [-y, x, zero]]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)


def rotate(axis: Array, degrees: Array) -> Array:
    """Rotations (n, 3, 3) about one unit axis by angles (n,) in degrees."""
    k = _cross_matrix(unit(np.asarray(axis, dtype=float)))
    t = np.radians(np.atleast_1d(degrees))[:, None, None]
    return np.asarray(np.eye(3) + np.sin(t) * k + (1 - np.cos(t)) * (k @ k))


def swing(start: Array, end: Array) -> Array:
    """Shortest rotations (n, 3, 3) taking unit vectors (n, 3) to unit vectors (n, 3)."""
    k = _cross_matrix(np.cross(start, end))
    cosine = np.sum(start * end, axis=-1)[:, None, None]
    return np.asarray(np.eye(3) + k + (k @ k) / np.maximum(1 + cosine, 1e-9))


def frames(axis: Array, hint: Array) -> Array:
    """Right-handed frames (..., 3, 3) with first column ``axis`` and the second toward ``hint``."""
    first = unit(axis)
    second = unit(hint - np.sum(hint * first, axis=-1, keepdims=True) * first)
    return np.stack([first, second, np.cross(first, second)], axis=-1)


def twist_deg(rotation: Array, axis: Array) -> Array:
    """Angle (n,) in degrees of rotations (n, 3, 3) about their own axis, signed by ``axis``."""
    r = rotation
    skew = np.stack(
        [r[:, 2, 1] - r[:, 1, 2], r[:, 0, 2] - r[:, 2, 0], r[:, 1, 0] - r[:, 0, 1]], axis=-1
    )
    trace = np.trace(r, axis1=1, axis2=2)
    return np.asarray(np.degrees(np.arctan2(skew @ axis / 2, (trace - 1) / 2)))


def angle_deg(a: Array, b: Array) -> Array:
    """Angles (n,) in degrees between vectors (n, 3)."""
    ua, ub = unit(a), unit(b)
    across, along = np.linalg.norm(ua - ub, axis=-1), np.linalg.norm(ua + ub, axis=-1)
    return np.asarray(np.degrees(2 * np.arctan2(across, along)))
