"""A still of several people, each with a number, where it must be said who is meant."""

from collections.abc import Iterable, Mapping
from typing import Any

import cv2
import numpy as np

from formcheck.catalogue.problems import RecordingProblem
from formcheck.clips.types import Frame
from formcheck.landmarks.track import LandmarkTrack
from formcheck.sheets.pages.moments import Still
from formcheck.sheets.video.anonymise import Picture, anonymise
from formcheck.sheets.video.drawing import panel, write
from formcheck.sheets.video.lettering import Style, set_lettering

_JPEG_QUALITY = 80
"""A proposal."""
_MOST_SIDE_PX = 640
"""Large enough to see who stands where. A proposal."""


def still_of_people(
    frames: Iterable[Frame], track: LandmarkTrack, choice: RecordingProblem, *, show_face: bool
) -> Still | None:
    """The people among whom ``choice`` (``who-is-meant``) leaves it open, each with a number.

    The whole picture with everybody in it, only the heads and the background hidden; None if the clip
    ends before that moment.
    """
    params: Mapping[str, Any] = choice.params
    frame = next((one for one in frames if one.time_s >= params["at_s"]), None)
    if frame is None:
        return None
    shown = frame.image
    if not show_face:
        shown = anonymise(shown, track, frame.time_s, show_bystanders=True)
    scale = min(_MOST_SIDE_PX / max(shown.shape[:2]), 1.0)
    small = cv2.resize(shown, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    picture = np.ascontiguousarray(small, np.uint8)
    _number(picture, params, picture.shape[1] / track.width)
    bgr = cv2.cvtColor(picture, cv2.COLOR_RGB2BGR)
    _, jpeg = cv2.imencode(".jpg", bgr, [cv2.IMWRITE_JPEG_QUALITY, _JPEG_QUALITY])
    return Still(frame.time_s, picture.shape[1], picture.shape[0], jpeg.tobytes())


def _number(picture: Picture, params: Mapping[str, Any], scale: float) -> None:
    """Write the number of each person on the chest, in place."""
    height, width = picture.shape[:2]
    names = [str(round(number)) for number in params["numbers"]]
    lettering = set_lettering(((Style.COUNT, name) for name in names), width, height)
    for name, x_px, y_px in zip(names, params["x_px"], params["y_px"], strict=True):
        cover = lettering.cover(Style.COUNT, name)
        high, wide = cover.shape
        left = int(np.clip(x_px * scale - wide / 2, 0, max(width - wide, 0)))
        top = int(np.clip(y_px * scale, 0, max(height - high, 0)))
        panel(picture, left - high // 4, top, wide + high // 2, high)
        write(picture, cover, left, top)
