"""Where a pose lies in the analysed picture, and how large: the geometry that tracking needs."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.arrays import FloatArray, SingleArray
from formcheck.landmarks.pose import Pose
from formcheck.landmarks.track import Joint

SEEN = 0.5
"""Visibility from which a landmark counts as seen. Common practice, no source."""
BOX_PADDING = 0.08
"""Room for hair, hands and feet around the box of the landmarks, in spans. A proposal."""
_SHOULDERS = [Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER]
_HIPS = [Joint.LEFT_HIP, Joint.RIGHT_HIP]


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """One person's place and looks in one analysed picture, in that picture's pixels.

    points   (33, 2)  all landmarks
    box      (4,)     left, top, right, bottom of the landmarks that are seen, inside the picture
    trunk    (2, 2)   middle of the shoulders, middle of the hips
    colour   (3,)     mean RGB of the trunk, 0-255: tells two people in different shirts apart
    span_px           longer side of the box
    """

    points: SingleArray
    box: FloatArray
    trunk: FloatArray
    colour: FloatArray
    span_px: float

    def distance(self, other: "Body") -> float:
        """How far apart two trunks are, in spans of the larger body; 0.02 for one person found twice.

        Blind to left and right changing places, as the model does with people seen from behind.
        """
        apart = np.linalg.norm(self.trunk - other.trunk, axis=1).mean()
        return float(apart / max(self.span_px, other.span_px))


def body_of(pose: Pose, image: NDArray[np.uint8]) -> Body:
    """The body of a pose found in this picture."""
    height, width = image.shape[:2]
    points = pose.image[:, :2] * (width, height)
    seen = pose.visibility >= SEEN
    box = np.clip(_box(points[seen] if seen.sum() >= 2 else points), 0, [width, height] * 2)
    left, top, right, bottom = np.clip(
        _box(points[_SHOULDERS + _HIPS]).astype(int), 0, [width - 1, height - 1] * 2
    )
    return Body(
        points=points.astype(np.float32),
        box=box,
        trunk=np.stack([points[_SHOULDERS].mean(axis=0), points[_HIPS].mean(axis=0)]),
        colour=image[top : bottom + 1 : 4, left : right + 1 : 4].mean(axis=(0, 1)),
        span_px=float(max(box[2] - box[0], box[3] - box[1], 1.0)),
    )


def _box(points: NDArray[np.floating]) -> NDArray[np.floating]:
    return np.concatenate([points.min(axis=0), points.max(axis=0)])


def paint_over(
    image: NDArray[np.uint8], others: list[Body], subject: Body | None
) -> NDArray[np.uint8]:
    """The picture with the other people painted over, wherever they do not overlap the subject."""
    if not others:
        return image
    painted = image.copy()
    for other in others:
        left, top, right, bottom = _padded_box(other, image.shape)
        painted[top:bottom, left:right] = image.mean(axis=(0, 1)).astype(np.uint8)
    if subject is not None:
        left, top, right, bottom = _padded_box(subject, image.shape)
        painted[top:bottom, left:right] = image[top:bottom, left:right]
    return painted


def _padded_box(body: Body, shape: tuple[int, ...]) -> tuple[int, int, int, int]:
    """The box with room for what the landmarks leave out: hair, hands, feet."""
    room = BOX_PADDING * body.span_px
    left, top = np.maximum(body.box[:2] - room, 0)
    right, bottom = np.minimum(body.box[2:] + room, (shape[1], shape[0]))
    return int(left), int(top), int(right), int(bottom)
