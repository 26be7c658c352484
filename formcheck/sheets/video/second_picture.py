"""The other camera's picture of the same moment, for the annotated clip of a set that two filmed."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import cv2
import numpy as np

from formcheck.clips.types import Frame
from formcheck.landmarks.track import Joint, LandmarkTrack
from formcheck.sheets.video.anonymise import Picture, anonymise, bodies_at
from formcheck.sheets.video.drawing import PAPER, dot, stroke
from formcheck.views.clocks import Clock

_WHILE_S = 0.25
"""Before its first and after its last picture by more than this a camera shows nothing. A proposal."""
_GROUND = 40
"""Brightness of the place of a picture that there is none of. Mechanical."""
_LINE_SHARE = 0.008
"""Width of a line and half the size of a dot, of the picture's height. A proposal."""


_GAP_PX, _WHITE = 6, 255
"""Width and brightness of what parts two cameras' pictures. A proposal."""


def side_by_side(left: Picture, right: Picture) -> Picture:
    """Two cameras' pictures of one height, (h, w, 3) uint8, parted by a line."""
    gap = np.full((left.shape[0], _GAP_PX, 3), _WHITE, np.uint8)
    return np.concatenate([left, gap, right], axis=1)


@dataclass(slots=True)
class SecondPicture:
    """The pictures of the second camera by the first one's time, asked for in order.

    ``frames`` are its own in order, ``chains`` the lines of joints that are drawn. Pictures are
    anonymised unless ``show_face``.
    """

    frames: Iterable[Frame]
    track: LandmarkTrack
    clock: Clock
    chains: Sequence[Sequence[Joint]]
    show_face: bool = False
    _coming: Iterator[Frame] = field(init=False)
    _now: Frame | None = field(init=False, default=None)
    _next: Frame | None = field(init=False, default=None)

    def __post_init__(self) -> None:
        self._coming = iter(self.frames)
        self._now, self._next = next(self._coming, None), next(self._coming, None)

    def at(self, time_s: float, height: int) -> Picture:
        """(height, w, 3) uint8: the picture nearest to a time of the first camera.

        Empty where the second camera did not record.
        """
        width = max(round(height * self.track.width / self.track.height), 1)
        own_s = float(self.clock.of(np.array(time_s)))
        frame = self._nearest(own_s)
        if frame is None or abs(frame.time_s - own_s) > _WHILE_S:
            return np.full((height, width, 3), _GROUND, np.uint8)
        image = cv2.resize(frame.image, (width, height), interpolation=cv2.INTER_AREA)
        shown = np.asarray(image, np.uint8)
        if not self.show_face:
            shown = anonymise(shown, self.track, frame.time_s)
        self._draw(shown, frame.time_s)
        return shown

    def _nearest(self, own_s: float) -> Frame | None:
        while (
            self._now is not None
            and self._next is not None
            and abs(self._next.time_s - own_s) <= abs(self._now.time_s - own_s)
        ):
            self._now, self._next = self._next, next(self._coming, None)
        return self._now

    def _draw(self, picture: Picture, time_s: float) -> None:
        bodies, widening = bodies_at(self.track, time_s, picture.shape[1] / self.track.width)
        if len(bodies) != 1 or widening != 1.0:
            return
        size = _LINE_SHARE * picture.shape[0]
        for chain in self.chains:
            points = bodies[0][list(chain)]
            stroke(picture, points, PAPER, size)
            for point in points:
                dot(picture, point, size, PAPER)
