"""What the learned estimate looks at: the posture around one arm as numbers of one scale.

Every arm is looked at as a right arm: for the left one the picture is mirrored and left and right
joints change places, so one network serves both and mirror symmetry is exact. Lengths are in trunk
lengths, so size and distance drop out; a window of time shows what moves.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.arrays import FloatArray, SingleArray
from formcheck.landmarks.track import Joint
from formcheck.measures.angles import angle_between_deg, unit
from formcheck.measures.posture import Posture
from formcheck.measures.table import Side

_BLOCK = 4096
"""Times whose features are put together at once. Mechanical."""
OFFSETS_S = (-0.5, -0.2, 0.2, 0.5)
"""Times before and after, of which the features show where arm and hand are. A proposal."""
FEATURE_COUNT = 156
"""Numbers at each time. Mechanical."""
LONGEST_PERCENTILE = 95.0
"""The longest that a segment is shown over a clip, bar a few bad readings. A proposal."""
_ANGLE_SCALE_DEG = 90.0
"""Brings angles to the size of the other features. Mechanical."""
_LEAST_LENGTH = 1e-6
"""Keeps a division by a length safe, in trunk lengths. Mechanical."""
_PAIRS = (
    (Joint.LEFT_EAR, Joint.RIGHT_EAR),
    (Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER),
    (Joint.LEFT_ELBOW, Joint.RIGHT_ELBOW),
    (Joint.LEFT_WRIST, Joint.RIGHT_WRIST),
    (Joint.LEFT_INDEX, Joint.RIGHT_INDEX),
    (Joint.LEFT_HIP, Joint.RIGHT_HIP),
    (Joint.LEFT_KNEE, Joint.RIGHT_KNEE),
    (Joint.LEFT_ANKLE, Joint.RIGHT_ANKLE),
)
_POINTS = [Joint.NOSE, *(joint for pair in _PAIRS for joint in pair)]
_AT = {joint: place for place, joint in enumerate(_POINTS)}
_SHOULDER, _ELBOW = _AT[Joint.RIGHT_SHOULDER], _AT[Joint.RIGHT_ELBOW]
_WRIST, _EAR = _AT[Joint.RIGHT_WRIST], _AT[Joint.RIGHT_EAR]
_OTHER_SHOULDER, _OTHER_ELBOW = _AT[Joint.LEFT_SHOULDER], _AT[Joint.LEFT_ELBOW]


@dataclass(frozen=True, slots=True, eq=False)
class ArmFeatures:
    """``values`` (n, FEATURE_COUNT), and the raw arm directions (n, 3) as (lateral, forward, up).

    Rows are NaN where the subject is unknown.
    """

    values: SingleArray
    upper: FloatArray
    fore: FloatArray


def arm_features(posture: Posture, side: Side) -> ArmFeatures:
    """The features of one arm, seen as a right arm.

    Computed block by block, as the intermediate arrays of a long clip take some hundred megabytes.
    """
    longest = _longest_shown(posture, side)
    around = max(abs(round(offset * posture.rate_hz)) for offset in OFFSETS_S)
    count = len(posture.time_s)
    values = np.empty((count, FEATURE_COUNT), np.float32)
    upper, fore = np.empty((count, 3)), np.empty((count, 3))
    for start in range(0, count, _BLOCK):
        stop = min(start + _BLOCK, count)
        first = max(start - around, 0)
        block = _block_features(posture.part(first, min(stop + around, count)), side, longest)
        own = slice(start - first, stop - first)
        values[start:stop], upper[start:stop] = block.values[own], block.upper[own]
        fore[start:stop] = block.fore[own]
    return ArmFeatures(values, upper, fore)


def _block_features(posture: Posture, side: Side, longest: tuple[float, float]) -> ArmFeatures:
    image, world, visibility = _as_right(posture, side)
    axes = _axes_as_right(posture, side)
    trunk_m = np.linalg.norm(_middle(world, "SHOULDER") - _middle(world, "HIP"), axis=1)
    flat, solid = _about(image, posture.scale_px), _about(world, trunk_m)
    upper3, fore3 = world[:, _ELBOW] - world[:, _SHOULDER], world[:, _WRIST] - world[:, _ELBOW]
    upper, fore = (unit(np.einsum("nij,nj->ni", axes, v)) for v in (upper3, fore3))
    angles = _raw_angles(image, upper3, fore3, upper)
    shares = _shown_shares(image, posture.scale_px, longest)
    hand = np.concatenate([upper, fore, flat[:, _ELBOW], flat[:, _WRIST]], axis=1)
    parts: tuple[NDArray[np.floating], ...] = (
        flat.reshape(len(flat), -1),
        solid.reshape(len(solid), -1),
        axes[:, 1:].reshape(len(axes), -1),
        upper,
        fore,
        angles / _ANGLE_SCALE_DEG,
        shares,
        np.clip(visibility[:, [_SHOULDER, _ELBOW, _WRIST, _EAR]], 0, 1),
        np.clip(visibility[:, [_OTHER_SHOULDER, _OTHER_ELBOW]], 0, 1),
        _place_in_picture(posture, image, side),
        *(_at_offset(hand, round(offset * posture.rate_hz)) for offset in OFFSETS_S),
    )
    values = np.concatenate(parts, axis=1, dtype=np.float32)
    return ArmFeatures(values, upper, fore)


def _as_right(posture: Posture, side: Side) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Picture, space and visibility of _POINTS, of the left arm's in the mirror."""
    other = dict(_PAIRS) | {b: a for a, b in _PAIRS}
    order = [other.get(joint, joint) if side == "left" else joint for joint in _POINTS]
    image, world, visibility = (
        values[:, order].astype(float)
        for values in (posture.image, posture.world, posture.visibility)
    )
    if side == "left":
        image[:, :, 0] *= -1
        world[:, :, 0] *= -1
    return image, world, visibility


def _axes_as_right(posture: Posture, side: Side) -> FloatArray:
    """The trunk's axes (n, 3, 3): lateral toward the arm, forward, up."""
    if side == "right":
        return np.stack([-posture.left, posture.forward, posture.up], axis=1)
    mirror = np.array([-1.0, 1.0, 1.0])
    return np.asarray(np.stack([posture.left, posture.forward, posture.up], axis=1) * mirror)


def _about(points: FloatArray, trunk: FloatArray) -> SingleArray:
    """The points about the shoulder, in trunk lengths."""
    about = points - points[:, None, _SHOULDER]
    about /= trunk[:, None, None]
    return about.astype(np.float32)


def _middle(points: FloatArray, name: str) -> FloatArray:
    left, right = _AT[Joint[f"LEFT_{name}"]], _AT[Joint[f"RIGHT_{name}"]]
    return np.asarray((points[:, left] + points[:, right]) / 2)


def _raw_angles(
    image: FloatArray, upper3: FloatArray, fore3: FloatArray, upper: FloatArray
) -> FloatArray:
    """Elbow and elevation as the picture and as space show them, degrees (n, 4)."""
    upper2, fore2 = image[:, _ELBOW] - image[:, _SHOULDER], image[:, _WRIST] - image[:, _ELBOW]
    down = _middle(image, "HIP") - _middle(image, "SHOULDER")
    below = np.broadcast_to(np.array([0.0, 0.0, -1.0]), upper.shape)
    return np.stack(
        [
            angle_between_deg(upper2, fore2),
            angle_between_deg(upper3, fore3),
            angle_between_deg(upper2, down),
            angle_between_deg(upper, below),
        ],
        axis=1,
    )


def _longest_shown(posture: Posture, side: Side) -> tuple[float, float]:
    """Of upper arm and forearm, in the picture over the clip, in trunk lengths."""
    shoulder, elbow, wrist = (posture.image_of(j, side) for j in ("shoulder", "elbow", "wrist"))
    return (
        _longest(elbow - shoulder, posture.scale_px),
        _longest(wrist - elbow, posture.scale_px),
    )


def _longest(segment: FloatArray, trunk_px: FloatArray) -> float:
    length = np.linalg.norm(segment, axis=1) / trunk_px
    known = length[np.isfinite(length)]
    return float(np.percentile(known, LONGEST_PERCENTILE)) if len(known) else 1.0


def _shown_shares(
    image: FloatArray, trunk_px: FloatArray, longest: tuple[float, float]
) -> FloatArray:
    """Projected lengths of upper arm and forearm, and what each is of its own longest (n, 6)."""
    columns = []
    for (near, far), most in zip(((_SHOULDER, _ELBOW), (_ELBOW, _WRIST)), longest, strict=True):
        length = np.linalg.norm(image[:, far] - image[:, near], axis=1) / trunk_px
        columns += [length, np.full(len(length), most), length / max(most, _LEAST_LENGTH)]
    return np.stack(columns, axis=1)


def _place_in_picture(posture: Posture, image: FloatArray, side: Side) -> FloatArray:
    """Where the trunk is and how big: what perspective depends on (n, 3)."""
    middle = _middle(image, "HIP")
    across = middle[:, 0] if side == "right" else middle[:, 0] + posture.width
    larger = max(posture.width, posture.height)
    return np.stack(
        [
            across / larger - posture.width / larger / 2,
            middle[:, 1] / larger - posture.height / larger / 2,
            posture.scale_px / larger,
        ],
        axis=1,
    )


def _at_offset(values: FloatArray, shift: int) -> FloatArray:
    """Values some frames away, or the nearest known ones toward now."""
    index = np.clip(np.arange(len(values)) + shift, 0, len(values) - 1)
    moved = values[index]
    return np.where(np.isfinite(moved).all(axis=1, keepdims=True), moved, values)
