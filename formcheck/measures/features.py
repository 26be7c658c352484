"""What the learned estimate looks at: the posture around one arm as numbers of one scale.

Every arm is looked at as a right arm: for the left one the picture is mirrored and left and right
joints change places, so one network serves both and mirror symmetry is exact. Lengths are in trunk
lengths, so size and distance drop out; a window of time shows what moves.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formcheck.landmarks.track import Joint
from formcheck.measures.angles import angle_between_deg, unit
from formcheck.measures.posture import Posture, trunk_axes
from formcheck.measures.table import Side

FloatArray = NDArray[np.float64]

OFFSETS_S = (-0.5, -0.2, 0.2, 0.5)
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
_SHOULDER, _ELBOW, _WRIST = Joint.RIGHT_SHOULDER, Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST


@dataclass(frozen=True, slots=True, eq=False)
class ArmFeatures:
    """``values`` (n, FEATURE_COUNT), and the raw arm directions (n, 3) as (lateral, forward, up).

    Rows are NaN where the subject is unknown.
    """

    values: NDArray[np.float32]
    upper: FloatArray
    fore: FloatArray


def arm_features(posture: Posture, side: Side) -> ArmFeatures:
    """The features of one arm, seen as a right arm."""
    image, world, visibility = _as_right(posture, side)
    up, left, forward = trunk_axes(world)
    axes = np.stack([-left, forward, up], axis=1)
    trunk_m = np.linalg.norm(_middle(world, "SHOULDER") - _middle(world, "HIP"), axis=1)
    flat = (image[:, _POINTS] - image[:, None, _SHOULDER]) / posture.trunk_px[:, None, None]
    solid = (world[:, _POINTS] - world[:, None, _SHOULDER]) / trunk_m[:, None, None]
    upper3, fore3 = world[:, _ELBOW] - world[:, _SHOULDER], world[:, _WRIST] - world[:, _ELBOW]
    upper, fore = (unit(np.einsum("nij,nj->ni", axes, v)) for v in (upper3, fore3))
    angles = _raw_angles(image, upper3, fore3, upper)
    shares = _shown_shares(image, posture.trunk_px)
    hand = np.concatenate([upper, fore, _of(flat, _ELBOW), _of(flat, _WRIST)], axis=1)
    moments = [_at_offset(hand, round(offset * posture.rate_hz)) for offset in OFFSETS_S]
    values = np.concatenate(
        [
            flat.reshape(len(flat), -1),
            solid.reshape(len(solid), -1),
            axes[:, 1:].reshape(len(axes), -1),
            upper,
            fore,
            angles / 90.0,
            shares,
            np.clip(visibility[:, [_SHOULDER, _ELBOW, _WRIST, Joint.RIGHT_EAR]], 0, 1),
            np.clip(visibility[:, [Joint.LEFT_SHOULDER, Joint.LEFT_ELBOW]], 0, 1),
            _place_in_picture(posture, image, side),
            *moments,
        ],
        axis=1,
        dtype=np.float32,  # of a long clip they are the largest of all
    )
    return ArmFeatures(values, upper, fore)


def _as_right(posture: Posture, side: Side) -> tuple[FloatArray, FloatArray, FloatArray]:
    if side == "right":
        return posture.image, posture.world, posture.visibility
    order = np.arange(posture.image.shape[1])
    for one, other in _PAIRS:
        order[one], order[other] = other, one
    image = posture.image[:, order] * np.array([-1.0, 1.0])
    world = posture.world[:, order] * np.array([-1.0, 1.0, 1.0])
    return image, world, posture.visibility[:, order]


def _middle(points: FloatArray, name: str) -> FloatArray:
    return np.asarray((points[:, Joint[f"LEFT_{name}"]] + points[:, Joint[f"RIGHT_{name}"]]) / 2)


def _of(points: FloatArray, joint: Joint) -> FloatArray:
    return np.asarray(points[:, _POINTS.index(joint)])


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


def _shown_shares(image: FloatArray, trunk_px: FloatArray) -> FloatArray:
    """Projected lengths of upper arm and forearm, and what each is of its own longest (n, 4)."""
    columns = []
    for near, far in ((_SHOULDER, _ELBOW), (_ELBOW, _WRIST)):
        length = np.linalg.norm(image[:, far] - image[:, near], axis=1) / trunk_px
        known = length[np.isfinite(length)]
        longest = float(np.percentile(known, 95)) if len(known) else 1.0
        columns += [length, np.full(len(length), longest), length / max(longest, 1e-6)]
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
            posture.trunk_px / larger,
        ],
        axis=1,
    )


def _at_offset(values: FloatArray, shift: int) -> FloatArray:
    """Values some frames away, or the nearest known ones toward now."""
    index = np.clip(np.arange(len(values)) + shift, 0, len(values) - 1)
    moved = values[index]
    return np.where(np.isfinite(moved).all(axis=1, keepdims=True), moved, values)
