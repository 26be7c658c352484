"""Values from the raw outputs of a network, and from the truth that belongs to them.

Formcheck decodes in ``formcheck.measures.learned``; here the same is written over any array namespace
``xp``, so that torch can differentiate it in the fit and numpy can run it in the tests. The truth of
an arm has its directions and scalars in the columns of the raw outputs, undecoded: directions whole,
lengths as shares of the trunk.
"""

from types import ModuleType
from typing import Any

from formcheck.measures.network_layout import (
    FOREARM,
    OUTPUTS,
    SCALARS,
    UPPER_ARM,
    VERTICAL,
)

Values = Any
"""An array of numpy or a tensor of torch."""

PERCENT = ("rise", "protraction", "hip_off_line")
"""Outputs in percent of trunk length, which the truth has as shares."""
_TINY_LENGTH, _TINY_RAD, _TINY_SCALE = 1e-6, 1e-7, 1e-3


def decoded(xp: ModuleType, outputs: Values, upper: Values, fore: Values) -> Values:
    """Values (n, len(OUTPUTS)) of raw outputs (n, COLUMNS) and raw unit directions (n, 3)."""
    up = outputs[:, VERTICAL] + _axis(xp, upper, 2, 1.0)
    values = _of_directions(xp, *corrected(xp, outputs, upper, fore), unit(xp, up))
    for name, scalar in SCALARS.items():
        raw = outputs[:, scalar.column]
        if scalar.below is None:
            values[name] = scalar.scale * raw
        else:
            softplus = xp.logaddexp(raw, xp.zeros_like(raw))
            values[name] = scalar.below - scalar.scale * softplus
    return xp.stack([values[name] for name in OUTPUTS], 1)


def corrected(
    xp: ModuleType, outputs: Values, upper: Values, fore: Values
) -> tuple[Values, Values]:
    """The directions (n, 3) of upper arm and forearm as the network has them."""
    return unit(xp, upper + outputs[:, UPPER_ARM]), unit(xp, fore + outputs[:, FOREARM])


def true_values(xp: ModuleType, truth: Values) -> Values:
    """Values (n, len(OUTPUTS)) of the truth (n, c) of one arm."""
    values = _of_directions(xp, truth[:, UPPER_ARM], truth[:, FOREARM], truth[:, VERTICAL])
    for name, scalar in SCALARS.items():
        values[name] = (100 if name in PERCENT else 1) * truth[:, scalar.column]
    return xp.stack([values[name] for name in OUTPUTS], 1)


def unit(xp: ModuleType, vectors: Values) -> Values:
    """Vectors (n, 3) scaled to length 1."""
    return vectors / xp.clip(xp.linalg.norm(vectors, None, -1, True), _TINY_LENGTH, None)


def _of_directions(xp: ModuleType, upper: Values, fore: Values, up: Values) -> dict[str, Values]:
    """The angles, in degrees, that unit directions in the trunk's axes make."""
    return {
        "elbow_flexion": _angle(xp, upper, fore),
        "shoulder_elevation": _angle(xp, upper, _axis(xp, upper, 2, -1.0)),
        "plane_of_elevation": xp.rad2deg(xp.arctan2(upper[:, 1], upper[:, 0])),
        "axial_rotation": _rotation(xp, upper, fore),
        "upper_arm_to_vertical": _angle(xp, upper, -up),
    }


def _axis(xp: ModuleType, like: Values, number: int, sign: float) -> Values:
    """A unit axis, once for each row of ``like`` (n, 3)."""
    axis = xp.zeros_like(like)
    axis[:, number] = sign
    return axis


def _angle(xp: ModuleType, a: Values, b: Values) -> Values:
    apart, along = (xp.linalg.norm(v, None, -1) for v in (a - b, a + b))
    return xp.rad2deg(2 * xp.arctan2(apart + _TINY_RAD, along + _TINY_RAD))


def _rotation(xp: ModuleType, upper: Values, fore: Values) -> Values:
    """Tilt-and-torsion axial rotation, as in ``formcheck.measures.angles``."""
    axis = xp.linalg.cross(_axis(xp, upper, 2, -1.0), upper)
    cosine = -upper[:, 2:]

    def swung(vector: Values) -> Values:
        along = (axis * vector).sum(1)[:, None]
        turned = vector * cosine + xp.linalg.cross(axis, vector)
        return turned + axis * along / xp.clip(1 + cosine, _TINY_SCALE, None)

    ahead, outward = (swung(_axis(xp, upper, number, 1.0)) for number in (1, 0))
    across = fore - (fore * upper).sum(1)[:, None] * upper
    y, x = -(across * outward).sum(1), (across * ahead).sum(1)
    return xp.rad2deg(xp.arctan2(y, x + 1e-9))
