"""The veil over pictures: the head made unrecognisable and everything but the subject blurred.

It fails closed. A moment without landmarks is covered at the last and the next known place,
widened; a clip in which nobody was ever found is blurred all over. The heads of others are covered
wherever they were found about that time; where somebody else is known to be in view and is not
found, no more than the subject's own limbs and trunk are kept.
"""

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from formcheck.landmarks.track import FloatArray, Joint, LandmarkTrack

Picture = NDArray[np.uint8]

_FACE = slice(0, 11)  # nose, eyes, ears and mouth in the pose model's order
_SAME_MOMENT_S = 0.005
_LOST_AFTER_S = 0.25
_LOST_WIDENING = 1.7
_COMPANY_WITHIN_S = 0.15
_COMPANY_WIDENING = 1.3
_COMPANY_CODE = "somebody-else-in-view"
_LIMB_WIDTH, _LIMB_WIDTH_UNSURE = 0.4, 0.2  # of the trunk's length
_ROOM_CELLS = 26  # cells across the short side: a face in the background is left two or three wide
_LIMBS = (
    (Joint.LEFT_SHOULDER, Joint.LEFT_ELBOW),
    (Joint.LEFT_ELBOW, Joint.LEFT_WRIST),
    (Joint.RIGHT_SHOULDER, Joint.RIGHT_ELBOW),
    (Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST),
    (Joint.LEFT_HIP, Joint.LEFT_KNEE),
    (Joint.LEFT_KNEE, Joint.LEFT_ANKLE),
    (Joint.RIGHT_HIP, Joint.RIGHT_KNEE),
    (Joint.RIGHT_KNEE, Joint.RIGHT_ANKLE),
)
_TRUNK = (Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER, Joint.RIGHT_HIP, Joint.LEFT_HIP)
_HANDS = (Joint.LEFT_WRIST, Joint.RIGHT_WRIST, Joint.LEFT_INDEX, Joint.RIGHT_INDEX)
_FEET = (Joint.LEFT_ANKLE, Joint.RIGHT_ANKLE)


def veil(image: Picture, track: LandmarkTrack, time_s: float) -> Picture:
    """A copy of the picture with head and room veiled.

    ``image`` is (h, w, 3) uint8, upright, at any scale of the picture the track was made from.
    """
    bodies, widening = bodies_at(track, time_s, image.shape[1] / track.width)
    room = _smeared(image, min(image.shape[:2]) / _ROOM_CELLS)
    if not bodies:
        return room
    others, lost = _others_at(track, time_s, image.shape[1] / track.width)
    kept = np.zeros(image.shape[:2], np.uint8)
    hidden = np.zeros(image.shape[:2], np.uint8)
    for body in bodies:
        _draw_body(kept, body, _LIMB_WIDTH_UNSURE if lost else _LIMB_WIDTH)
        for centre, radius in head_circles(body):
            _disc(kept, centre, widening * radius)
            _disc(hidden, centre, widening * radius)
    for body in others:
        for centre, radius in head_circles(body):
            _disc(hidden, centre, _COMPANY_WIDENING * radius)
    covered = _blend(image, room, kept)
    _cover_head(covered, hidden, max(radius for _, radius in head_circles(bodies[0])))
    return covered


def _others_at(track: LandmarkTrack, time_s: float, scale: float) -> tuple[list[FloatArray], bool]:
    """Everybody else found about a time, and whether somebody is in view but not found."""
    company = track.company
    first, last = np.searchsorted(
        company.time_s, [time_s - _COMPANY_WITHIN_S, time_s + _COMPANY_WITHIN_S]
    )
    in_view = any(
        problem.code == _COMPANY_CODE and (problem.start_s or 0.0) <= time_s <= problem.end_s
        for problem in track.problems
        if problem.end_s is not None
    )
    return list(company.image_px[first:last] * scale), bool(in_view and first == last)


def bodies_at(track: LandmarkTrack, time_s: float, scale: float) -> tuple[list[FloatArray], float]:
    """The subject's landmarks (33, 2) at a time, in pixels of the scaled picture, and the widening.

    One body where the pose was found around that time, the last and the next known where it was
    not, none where nobody was ever found.
    """
    found = np.flatnonzero(np.isfinite(track.image_px[:, :, :2]).all(axis=(1, 2)))
    if len(found) == 0:
        return [], 1.0
    after = int(np.searchsorted(track.time_s[found], time_s))
    near = found[[max(after - 1, 0), min(after, len(found) - 1)]]
    times, points = track.time_s[near], track.image_px[near, :, :2] * scale
    away = np.abs(times - time_s)
    if away.min() < _SAME_MOMENT_S:
        return [points[int(away.argmin())]], 1.0
    if away.max() > _LOST_AFTER_S:
        return [points[0], points[1]], _LOST_WIDENING
    span = times[1] - times[0]
    share = float(np.clip((time_s - times[0]) / span, 0.0, 1.0)) if span > 0 else 0.0
    return [points[0] + share * (points[1] - points[0])], 1.0


def head_circles(body: FloatArray) -> list[tuple[FloatArray, float]]:
    """Two circles that hold the head: about the found face, and where the neck says it should be.

    Sizes follow from trunk length and shoulder width: half a head is about a quarter of the trunk
    (common practice, no source), and a third is taken.
    """
    size = trunk_size(body)
    face = body[_FACE]
    centre = (face.min(axis=0) + face.max(axis=0)) / 2
    spread = float(np.linalg.norm(face - centre, axis=1).max())
    shoulders = (body[Joint.LEFT_SHOULDER] + body[Joint.RIGHT_SHOULDER]) / 2
    hips = (body[Joint.LEFT_HIP] + body[Joint.RIGHT_HIP]) / 2
    up = (shoulders - hips) / max(float(np.linalg.norm(shoulders - hips)), 1.0)
    return [
        (centre, max(0.36 * size, 1.9 * spread)),
        (shoulders + 0.45 * size * up, 0.3 * size),
    ]


def trunk_size(body: FloatArray) -> float:
    """Trunk length in pixels, or what the shoulders' width implies where the trunk is end-on."""
    shoulders = (body[Joint.LEFT_SHOULDER] + body[Joint.RIGHT_SHOULDER]) / 2
    hips = (body[Joint.LEFT_HIP] + body[Joint.RIGHT_HIP]) / 2
    width = float(np.linalg.norm(body[Joint.LEFT_SHOULDER] - body[Joint.RIGHT_SHOULDER]))
    return max(float(np.linalg.norm(shoulders - hips)), 1.3 * width, 4.0)


def _draw_body(mask: Picture, body: FloatArray, limb_width: float) -> None:
    size = trunk_size(body)
    limb = max(round(limb_width * size), 1)
    for start, end in _LIMBS:
        cv2.line(mask, _pixel(body[start]), _pixel(body[end]), 255, limb)
    trunk = np.array([_pixel(body[joint]) for joint in _TRUNK], np.int32)
    cv2.fillPoly(mask, [trunk], 255)
    cv2.polylines(mask, [trunk], isClosed=True, color=255, thickness=limb)
    for joint in (*_HANDS, *_FEET):
        _disc(mask, body[joint], 0.3 * size)


def _cover_head(covered: Picture, hidden: Picture, radius: float) -> None:
    """Smear what is hidden, in place; cells as large as half the head leave no feature."""
    left, top, width, height = cv2.boundingRect(hidden)
    if width == 0 or height == 0:
        return
    area = covered[top : top + height, left : left + width]
    where = hidden[top : top + height, left : left + width, None] > 0
    np.copyto(area, _smeared(area, radius), where=where)


def _blend(image: Picture, room: Picture, kept: Picture) -> Picture:
    """The subject from the picture, all else from the blurred room, with a soft seam."""
    height, width = kept.shape
    small = cv2.resize(kept, (max(width // 4, 1), max(height // 4, 1)))
    soft = cv2.GaussianBlur(small, (0, 0), max(min(small.shape) / 90, 0.8))
    share = cv2.resize(soft, (width, height)).astype(np.float32) / 255
    return np.asarray(cv2.blendLinear(image, room, share, 1 - share), np.uint8)


def _smeared(image: Picture, cell_px: float) -> Picture:
    """The picture reduced to cells of that size and smoothly enlarged again."""
    height, width = image.shape[:2]
    cells = (max(round(width / cell_px), 1), max(round(height / cell_px), 1))
    small = cv2.resize(image, cells, interpolation=cv2.INTER_AREA)
    large = cv2.resize(small, (width, height), interpolation=cv2.INTER_LINEAR)
    return np.asarray(large, np.uint8).reshape(image.shape)


def _disc(mask: Picture, centre: Sequence[float] | FloatArray, radius: float) -> None:
    cv2.circle(mask, _pixel(centre), max(round(radius), 1), 255, -1)


def _pixel(point: Sequence[float] | FloatArray) -> tuple[int, int]:
    # OpenCV draws within 16-bit coordinates only.
    x, y = np.clip(np.rint(point), -30_000, 30_000)
    return int(x), int(y)
