"""Still pictures of chosen moments: small, anonymised, taken in one pass over the clip."""

from collections.abc import Iterable, Iterator, Mapping

import cv2
import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.clips.types import Frame
from formcheck.landmarks.track import Joint, LandmarkTrack
from formcheck.sheets.pages.moments import Moment, Still
from formcheck.sheets.video.anonymise import Picture, anonymise, bodies_at, trunk_size

STILL_HEIGHT_PX = 360
"""Height of every still: small enough to send, large enough to see an elbow. A proposal."""
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
    box = _subject_box(track, [m.time_s for m in moments.values() if not m.close_up])
    stills: dict[str, Still] = {}
    for keys, frame in _nearest(frames, moments):
        picture = frame.image if show_face else anonymise(frame.image, track, frame.time_s)
        for key in keys:
            close = _close_box(track, frame.time_s) if moments[key].close_up else box
            stills[key] = _still(picture, close, track, frame.time_s)
    return stills


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


def _still(picture: Picture, box: FloatArray | None, track: LandmarkTrack, time_s: float) -> Still:
    cropped = _crop(picture, box, picture.shape[1] / track.width)
    height, width = cropped.shape[:2]
    size = (max(round(width * STILL_HEIGHT_PX / height), 1), STILL_HEIGHT_PX)
    small = cv2.resize(cropped, size, interpolation=cv2.INTER_AREA)
    bgr = cv2.cvtColor(np.asarray(small, np.uint8), cv2.COLOR_RGB2BGR)
    _, jpeg = cv2.imencode(".jpg", bgr, [cv2.IMWRITE_JPEG_QUALITY, _JPEG_QUALITY])
    return Still(time_s, size[0], size[1], jpeg.tobytes())


def _crop(picture: Picture, box: FloatArray | None, scale: float) -> Picture:
    if box is None:
        return picture
    height, width = picture.shape[:2]
    left, right = np.clip(np.rint(box[[0, 2]] * scale), 0, width).astype(int)
    top, bottom = np.clip(np.rint(box[[1, 3]] * scale), 0, height).astype(int)
    if right - left < 2 or bottom - top < 2:
        return picture
    return picture[top:bottom, left:right]
