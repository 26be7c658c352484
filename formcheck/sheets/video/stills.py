"""Still pictures of chosen moments: small, anonymised, taken in one pass over the clip."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

import cv2
import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.checks.result import Finding
from formcheck.clips.types import Frame
from formcheck.landmarks.track import Joint, LandmarkTrack
from formcheck.sheets.pages.moments import Drawn, Moment, Still
from formcheck.sheets.video.anonymise import (
    Picture,
    anonymise,
    bodies_at,
    head_circles,
    trunk_size,
)
from formcheck.sheets.video.guide import draw_guide, guide_for
from formcheck.sheets.video.second_picture import side_by_side

STILL_HEIGHT_PX = 360
"""Height of every still: small enough to send, large enough to see an elbow. A proposal."""
SHOT_HEIGHT_PX, SHOT_SHAPE = 510, 4 / 3
"""Height of a still with something drawn on it, as wide as a phone at twice its resolution; and its
width over its height, so that its sentence fits below it on the first screen. A proposal.
"""
DECODE_SIDE_PX = 1280
"""Longest side at which frames are read, so that a close-up stays sharp. A proposal."""
_JPEG_QUALITY = 74
"""A proposal."""
_MARGIN = 0.16
"""Room around the subject, of the subject's longer side. A proposal."""
_UPRIGHT = 0.7
"""Whoever has the shoulders higher above the hips than this share of the trunk's length is upright
enough to be shown without legs. A proposal.
"""
_CLOSE_UP_HALF_SIDE = 0.85
"""Half the side of a close-up, in trunk lengths. A proposal."""


def take_stills(
    frames: Iterable[Frame],
    track: LandmarkTrack,
    moments: Mapping[str, Moment],
    *,
    show_face: bool = False,
) -> dict[str, Still]:
    """The frame nearest to each moment as a still, under the moment's own key.

    Reads no further than the last moment. All whole-subject stills share one framing, so that they
    can be compared. Moments of an empty stream are left out.
    """
    moments = {key: _clear_of_head(moment, track) for key, moment in moments.items()}
    plain = [m for m in moments.values() if not m.close_up]
    box = _subject_box(track, [m.time_s for m in plain])
    wide = _landscape(_subject_box(track, [m.time_s for m in plain if m.about]), track)
    stills: dict[str, Still] = {}
    for keys, frame in _nearest(frames, moments):
        picture = frame.image if show_face else anonymise(frame.image, track, frame.time_s)
        for key in keys:
            moment = moments[key]
            close = _close_box(track, frame.time_s) if moment.close_up else box
            framed = _Framing(wide, SHOT_HEIGHT_PX) if moment.about else _Framing(close)
            stills[key] = _still(picture, framed, track, frame.time_s, moment.about)
    return stills


@dataclass(frozen=True, slots=True)
class _Framing:
    """The box (4,) of a still in full-size pixels, None for the whole picture, and its height."""

    box: FloatArray | None
    height_px: int = STILL_HEIGHT_PX


def _clear_of_head(moment: Moment, track: LandmarkTrack) -> Moment:
    """The nearest moment at which no hand hides behind the veil over the head, if it may be moved."""
    if moment.between is None:
        return moment
    first, last = moment.between
    times = track.time_s[(track.time_s >= first) & (track.time_s <= last)]
    clear = {float(time): _hand_off_head(track, float(time)) for time in times}
    good = [time for time, off in clear.items() if off >= 0]
    if not clear or max(clear.values()) == -np.inf or _hand_off_head(track, moment.time_s) >= 0:
        return moment
    best = (
        min(good, key=lambda time: abs(time - moment.time_s))
        if good
        else max(clear, key=lambda time: clear[time])
    )
    return replace(moment, time_s=best)


def _hand_off_head(track: LandmarkTrack, time_s: float) -> float:
    """How far the nearer wrist is outside the circles about the head, in pixels."""
    bodies, _ = bodies_at(track, time_s, 1.0)
    if not bodies:
        return -np.inf
    body = bodies[0]
    return min(
        float(np.linalg.norm(body[wrist] - centre)) - radius
        for wrist in (Joint.LEFT_WRIST, Joint.RIGHT_WRIST)
        for centre, radius in head_circles(body)
    )


def _landscape(box: FloatArray | None, track: LandmarkTrack) -> FloatArray | None:
    """The box widened to the shape of a shot, as far as the picture goes."""
    if box is None:
        return None
    width, height = box[2] - box[0], box[3] - box[1]
    more_x = max(SHOT_SHAPE * height - width, 0.0) / 2
    more_y = max(width / SHOT_SHAPE - height, 0.0) / 2
    wide: FloatArray = box + np.array([-more_x, -more_y, more_x, more_y])
    for low, high, most in ((0, 2, track.width), (1, 3, track.height)):
        shift = max(-wide[low], 0.0) - max(wide[high] - most, 0.0)
        wide[[low, high]] += shift
    return wide


def beside(first: Mapping[str, Still], second: Mapping[str, Still]) -> dict[str, Still]:
    """Stills of one moment by two cameras side by side, under the keys of the first."""
    return {
        key: _beside(still, second[key]) if key in second else still for key, still in first.items()
    }


def _beside(first: Still, second: Still) -> Still:
    left, right = (
        np.asarray(cv2.imdecode(np.frombuffer(still.jpeg, np.uint8), cv2.IMREAD_COLOR))
        for still in (first, second)
    )
    width = max(round(second.width * first.height / second.height), 1)
    right = cv2.resize(right, (width, first.height), interpolation=cv2.INTER_AREA)
    both = side_by_side(left, np.asarray(right, np.uint8))
    _, jpeg = cv2.imencode(".jpg", both, [cv2.IMWRITE_JPEG_QUALITY, _JPEG_QUALITY])
    return replace(first, width=both.shape[1], jpeg=jpeg.tobytes())


def _nearest(
    frames: Iterable[Frame], moments: Mapping[str, Moment]
) -> Iterator[tuple[list[str], Frame]]:
    """Frames in order, each with the keys of the moments it is nearest to."""
    waiting = sorted(moments, key=lambda key: moments[key].time_s)
    before: Frame | None = None
    for frame in frames:
        if not waiting:
            return
        if before is not None:
            middle = (before.time_s + frame.time_s) / 2
            due = [key for key in waiting if moments[key].time_s <= middle]
            if due:
                yield due, before
                waiting = waiting[len(due) :]
        before = frame
    if before is not None and waiting:
        yield waiting, before


def _subject_box(track: LandmarkTrack, times_s: list[float]) -> FloatArray | None:
    """(4,) left, top, right, bottom in full-size pixels around the subject at all those times."""
    bodies = [_points_to_show(body) for time in times_s for body in bodies_at(track, time, 1.0)[0]]
    if not bodies:
        return None
    points = np.concatenate(bodies)
    low, high = points.min(axis=0), points.max(axis=0)
    margin = _MARGIN * float((high - low).max())
    return np.concatenate([low - margin, high + margin])


def _points_to_show(body: FloatArray) -> FloatArray:
    """The landmarks that a still must show: all, or all but the legs of somebody upright."""
    shoulders = (body[Joint.LEFT_SHOULDER] + body[Joint.RIGHT_SHOULDER]) / 2
    hips = (body[Joint.LEFT_HIP] + body[Joint.RIGHT_HIP]) / 2
    upright = hips[1] - shoulders[1] > _UPRIGHT * trunk_size(body)
    return body[: Joint.LEFT_KNEE] if upright else body


def _close_box(track: LandmarkTrack, time_s: float) -> FloatArray | None:
    """(4,) left, top, right, bottom of a square around the shoulders, in full-size pixels."""
    bodies, _ = bodies_at(track, time_s, 1.0)
    if not bodies:
        return None
    body = bodies[0]
    centre = (body[Joint.LEFT_SHOULDER] + body[Joint.RIGHT_SHOULDER]) / 2
    half = _CLOSE_UP_HALF_SIDE * trunk_size(body)
    return np.concatenate([centre - half, centre + half])


def _still(
    picture: Picture,
    framing: _Framing,
    track: LandmarkTrack,
    time_s: float,
    about: Finding | None,
) -> Still:
    left, top, right, bottom = _corners(picture, framing.box, picture.shape[1] / track.width)
    cropped = picture[top:bottom, left:right]
    scale = framing.height_px / cropped.shape[0]
    size = (max(round(cropped.shape[1] * scale), 1), framing.height_px)
    way = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    small = np.ascontiguousarray(cv2.resize(cropped, size, interpolation=way), np.uint8)
    drawn: Drawn = ""
    bodies, widening = bodies_at(track, time_s, picture.shape[1] / track.width)
    if about and len(bodies) == 1 and widening == 1.0:
        guide = guide_for(about, (bodies[0] - (left, top)) * scale)
        draw_guide(small, guide)
        drawn = "lines" if guide.actual and guide.asked else "ring" if guide.joints else ""
    return Still(time_s, size[0], size[1], as_jpeg(small), drawn)


def as_jpeg(picture: Picture) -> bytes:
    """A picture (h, w, 3) uint8 RGB as JPEG without any metadata."""
    bgr = cv2.cvtColor(picture, cv2.COLOR_RGB2BGR)
    _, jpeg = cv2.imencode(".jpg", bgr, [cv2.IMWRITE_JPEG_QUALITY, _JPEG_QUALITY])
    return bytes(jpeg.tobytes())


def _corners(picture: Picture, box: FloatArray | None, scale: float) -> tuple[int, int, int, int]:
    """Left, top, right and bottom of a box in the picture; all of it without one."""
    height, width = picture.shape[:2]
    if box is None:
        return 0, 0, width, height
    left, right = np.clip(np.rint(box[[0, 2]] * scale), 0, width).astype(int)
    top, bottom = np.clip(np.rint(box[[1, 3]] * scale), 0, height).astype(int)
    if right - left < 2 or bottom - top < 2:
        return 0, 0, width, height
    return int(left), int(top), int(right), int(bottom)
