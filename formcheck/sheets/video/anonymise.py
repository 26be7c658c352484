"""Making pictures anonymous: the head pixelated, and everything around the subject too.

It fails closed. At a moment without landmarks the head is covered at its last and its next known
place, widened; a clip in which nobody was ever found is pixelated all over. The heads of bystanders
are covered wherever they were found about that time, and the subject's arms are drawn over what is
covered, so that an arm beside or before the head can be judged; where a bystander is known to be in view and
is not found, no more than the subject's own limbs and trunk are kept.
"""

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.arrays import FloatArray
from formcheck.catalogue.codes import ProblemCode
from formcheck.landmarks.track import Joint, LandmarkTrack

Picture = NDArray[np.uint8]

_FACE = slice(0, 11)
"""Nose, eyes, ears and mouth in the pose model's order. Mechanical."""
_SAME_MOMENT_S = 0.005
"""A pose this near in time is that of the frame itself. Mechanical."""
_LOST_AFTER_S = 0.25
"""Between poses further apart the head may have gone anywhere between. A proposal."""
_LOST_WIDENING = 1.7
"""How much wider a head is covered where it was not found. A proposal."""
_BYSTANDER_WITHIN_S = 0.15
"""A bystander found within this time is covered: the pose model looks six times a second at least.
Mechanical.
"""
_BYSTANDER_WIDENING = 1.3
"""How much wider a bystander's head is covered, who may have moved since. A proposal."""
_LIMB_WIDTH, _LIMB_WIDTH_UNSURE = 0.4, 0.2
"""Width kept around limbs and trunk, of the trunk's length; the narrower one where somebody who was
not found may stand right behind them. A proposal.
"""
_HAND_RADIUS = 0.3
"""RecordArray around hands and feet, of the trunk's length. A proposal."""
_FACE_RADIUS, _FACE_SPREAD = 0.36, 1.9
"""The circle about the face: of the trunk's length, and of the spread of the face's own landmarks,
whichever is larger. Half a head is about a quarter of the trunk. Common practice, no source.
"""
_NECK_HEIGHT, _NECK_RADIUS = 0.45, 0.3
"""Where the neck says that the head is, and how large, of the trunk's length. Common practice, no
source.
"""
_TRUNK_OF_SHOULDERS = 1.3
"""The trunk's length over the shoulders' width, for a trunk seen end-on. Common practice, no source."""
_LEAST_TRUNK_PX = 4.0
"""No trunk is taken to be shorter. Mechanical."""
_BACKGROUND_CELLS = 26
"""Cells across the short side: a face in the background is left two or three wide. A proposal."""
_SEAM = 1 / 90
"""Softness of the edge around the subject, of the short side of a quarter-size picture. Mechanical."""
_LEAST_SEAM_PX = 0.8
"""Less would leave steps in the edge. Mechanical."""
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
_ARMS = (
    (Joint.LEFT_SHOULDER, Joint.LEFT_ELBOW, Joint.LEFT_WRIST, Joint.LEFT_INDEX),
    (Joint.RIGHT_SHOULDER, Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST, Joint.RIGHT_INDEX),
)
_ARM_COLOUR, _ARM_EDGE = (206, 198, 194), (70, 66, 72)
"""An arm that is drawn over the veil: a plain grey that no skin has. Mechanical."""
_ARM_WIDTH = 0.13
"""Its width, of the trunk's length: about that of a forearm. A proposal."""
_SEEN = 0.5
"""An arm with a landmark less visible than this is not drawn. A proposal."""
_FEET = (Joint.LEFT_ANKLE, Joint.RIGHT_ANKLE)


def anonymise(
    image: Picture, track: LandmarkTrack, time_s: float, *, show_bystanders: bool = False
) -> Picture:
    """A copy of the picture with the heads and the background pixelated.

    ``image`` is (h, w, 3) uint8, upright, at any scale of the picture the track was made from.
    Bystanders are background, unless they are to be shown as well, to choose among: then only their
    heads are hidden.
    """
    bodies, widening = bodies_at(track, time_s, image.shape[1] / track.width)
    background = _pixelate(image, min(image.shape[:2]) / _BACKGROUND_CELLS)
    if not bodies:
        return background
    bystanders, lost = _bystanders_at(track, time_s, image.shape[1] / track.width)
    kept = np.zeros(image.shape[:2], np.uint8)
    hidden = np.zeros(image.shape[:2], np.uint8)
    for body in bodies:
        _draw_body(kept, body, _LIMB_WIDTH_UNSURE if lost else _LIMB_WIDTH)
        for centre, radius in head_circles(body):
            _disc(kept, centre, widening * radius)
            _disc(hidden, centre, widening * radius)
    for body in bystanders:
        if show_bystanders:
            _draw_body(kept, body, _LIMB_WIDTH)
        for centre, radius in head_circles(body):
            _disc(hidden, centre, _BYSTANDER_WIDENING * radius)
    covered = _blend(image, background, kept)
    _cover_head(covered, hidden, max(radius for _, radius in head_circles(bodies[0])))
    if widening == 1.0:
        _paint_arms(covered, hidden, bodies[0], _arms_seen(track, time_s))
    return covered


def _arms_seen(track: LandmarkTrack, time_s: float) -> list[tuple[Joint, ...]]:
    """The arms whose elbow and hand the nearest pose sees: no other is to be drawn."""
    seen = track.visibility[int(np.abs(track.time_s - time_s).argmin())]
    return [arm for arm in _ARMS if min(seen[joint] for joint in arm) >= _SEEN]


def _paint_arms(
    covered: Picture, hidden: Picture, body: FloatArray, arms: Sequence[Sequence[Joint]]
) -> None:
    """Arms drawn over the veil, in place, where it hides them: their place, and nothing of a face."""
    drawn = covered.copy()
    width = max(round(_ARM_WIDTH * trunk_size(body)), 2)
    for colour, wide in ((_ARM_EDGE, width + max(width // 3, 2)), (_ARM_COLOUR, width)):
        for arm in arms:
            path = np.array([_pixel(body[joint]) for joint in arm], np.int32)
            cv2.polylines(drawn, [path], False, colour, wide, cv2.LINE_AA)
    np.copyto(covered, drawn, where=hidden[..., None] > 0)


def _bystanders_at(
    track: LandmarkTrack, time_s: float, scale: float
) -> tuple[list[FloatArray], bool]:
    """The bystanders found about a time, and whether one is in view but was not found."""
    bystanders = track.bystanders
    first, last = np.searchsorted(
        bystanders.time_s, [time_s - _BYSTANDER_WITHIN_S, time_s + _BYSTANDER_WITHIN_S]
    )
    in_view = any(
        problem.code == ProblemCode.SOMEBODY_ELSE_IN_VIEW
        and (problem.start_s or 0.0) <= time_s <= problem.end_s
        for problem in track.problems
        if problem.end_s is not None
    )
    return list(bystanders.image_px[first:last] * scale), bool(in_view and first == last)


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
    """Two circles that hold the head: about the found face, and where the neck says it should be."""
    size = trunk_size(body)
    face = body[_FACE]
    centre = (face.min(axis=0) + face.max(axis=0)) / 2
    spread = float(np.linalg.norm(face - centre, axis=1).max())
    shoulders = (body[Joint.LEFT_SHOULDER] + body[Joint.RIGHT_SHOULDER]) / 2
    hips = (body[Joint.LEFT_HIP] + body[Joint.RIGHT_HIP]) / 2
    up = (shoulders - hips) / max(float(np.linalg.norm(shoulders - hips)), 1.0)
    return [
        (centre, max(_FACE_RADIUS * size, _FACE_SPREAD * spread)),
        (shoulders + _NECK_HEIGHT * size * up, _NECK_RADIUS * size),
    ]


def trunk_size(body: FloatArray) -> float:
    """Trunk length in pixels, or what the shoulders' width implies where the trunk is end-on."""
    shoulders = (body[Joint.LEFT_SHOULDER] + body[Joint.RIGHT_SHOULDER]) / 2
    hips = (body[Joint.LEFT_HIP] + body[Joint.RIGHT_HIP]) / 2
    width = float(np.linalg.norm(body[Joint.LEFT_SHOULDER] - body[Joint.RIGHT_SHOULDER]))
    return max(
        float(np.linalg.norm(shoulders - hips)), _TRUNK_OF_SHOULDERS * width, _LEAST_TRUNK_PX
    )


def _draw_body(mask: Picture, body: FloatArray, limb_width: float) -> None:
    size = trunk_size(body)
    limb = max(round(limb_width * size), 1)
    for start, end in _LIMBS:
        cv2.line(mask, _pixel(body[start]), _pixel(body[end]), 255, limb)
    trunk = np.array([_pixel(body[joint]) for joint in _TRUNK], np.int32)
    cv2.fillPoly(mask, [trunk], 255)
    cv2.polylines(mask, [trunk], isClosed=True, color=255, thickness=limb)
    for joint in (*_HANDS, *_FEET):
        _disc(mask, body[joint], _HAND_RADIUS * size)


def _cover_head(covered: Picture, hidden: Picture, radius: float) -> None:
    """Pixelate what is hidden, in place; cells as large as half the head leave no feature."""
    left, top, width, height = cv2.boundingRect(hidden)
    if width == 0 or height == 0:
        return
    area = covered[top : top + height, left : left + width]
    where = hidden[top : top + height, left : left + width, None] > 0
    np.copyto(area, _pixelate(area, radius), where=where)


def _blend(image: Picture, background: Picture, kept: Picture) -> Picture:
    """The subject from the picture, all else from the pixelated background, with a soft seam."""
    height, width = kept.shape
    small = cv2.resize(kept, (max(width // 4, 1), max(height // 4, 1)))
    soft = cv2.GaussianBlur(small, (0, 0), max(min(small.shape) * _SEAM, _LEAST_SEAM_PX))
    share = cv2.resize(soft, (width, height)).astype(np.float32) / 255
    return np.asarray(cv2.blendLinear(image, background, share, 1 - share), np.uint8)


def _pixelate(image: Picture, cell_px: float) -> Picture:
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
