"""Which frames the pose model analyses: all while much moves, few while nothing does.

The model is nearly all of the cost of a check. Between two frames in which a body moves slowly, or
not at all, its place is as well known from those two as from a look at every frame in between.
"""

import numpy as np
from numpy.typing import NDArray

from formcheck.clips.types import GREY_STEP, Frame
from formcheck.landmarks.body import BOX_PADDING, SEEN, Body
from formcheck.landmarks.person_tracker import Tracklet
from formcheck.landmarks.track import Joint

FAST, STILL = 1.2, 0.15
"""Speed of the fastest joint in spans (1.7 m) a second. A straight arm raised by 90 degrees within
1.5 s gets to 0.7, within 0.9 s to 1.2; landmarks of a person at rest jitter by up to 0.1. Read on
rendered people."""
MOVING_GAP_S = 0.085
"""Longest time between analysed frames while something moves: two steps at 24 to 30 pictures a
second, where a raise within 0.9 s departs from a line by half a degree. A proposal."""
STILL_GAP_S = 0.17
"""The same while nothing moves. A proposal."""
SETTLE_S = 0.5
"""The model needs some frames to find the place of a new person. A proposal."""
CHANGED_LEVELS, CHANGED_NOISE = 8, 4
"""A point of the picture has changed if it differs by so many levels and so many times the noise.
A proposal."""
MOVED_SHARE, SUDDEN_SHARE = 0.004, 0.012
"""Share of the subject's box that changes when something moves. In rendered clips as phones store
them, it is 0.01 where a joint has moved by 0.005 spans (1 cm), and under 0.0005 at rest. Read on
rendered people."""
SHAKEN_LEVELS = 4
"""Noise beyond this is a moving camera, in whose pictures nothing can be told from differences. A
proposal."""
_JOINTS = [
    Joint.NOSE,
    *range(Joint.LEFT_SHOULDER, Joint.RIGHT_WRIST + 1),
    *range(Joint.LEFT_HIP, Joint.RIGHT_ANKLE + 1),
]
"""Joints whose speed counts. Mechanical."""


class FrameSampler:
    """Selects the frames to analyse as they come; holds back one at most.

    When something suddenly moves after a long gap, the frame before is analysed as well, so that
    the movement starts when it does and not a gap earlier.
    """

    def __init__(self) -> None:
        self._analysed: Frame | None = None
        self._waiting: tuple[int, Frame] | None = None
        self._last_s = 0.0

    def select(
        self, index: int, frame: Frame, only_person: Tracklet | None
    ) -> list[tuple[int, Frame]]:
        """The frames to analyse now: none, this one, or the one before and this one.

        ``only_person`` is None while several people are in view, or nobody is.
        """
        step_s, self._last_s = frame.time_s - self._last_s, frame.time_s
        before, now = self.flush(), (index, frame)
        if self._analysed is None or only_person is None or _settling(only_person):
            return self._note_analysed([*before, now])
        speed = _speed(only_person)
        change = _change(self._analysed, frame, only_person.bodies[-1]) if speed < STILL else 1.0
        longest_s = MOVING_GAP_S if speed < FAST else 0.0
        if change < MOVED_SHARE:
            longest_s = STILL_GAP_S
        gap_s = frame.time_s - self._analysed.time_s
        if gap_s + step_s > longest_s:
            missed = gap_s > (longest_s if change > SUDDEN_SHARE else STILL_GAP_S)
            return self._note_analysed([*before, now] if missed else [now])
        self._waiting = now
        return []

    def flush(self) -> list[tuple[int, Frame]]:
        """The frame that was held back, if any: the last frame of a clip is always analysed."""
        waiting, self._waiting = self._waiting, None
        return [waiting] if waiting else []

    def _note_analysed(self, due: list[tuple[int, Frame]]) -> list[tuple[int, Frame]]:
        self._analysed = due[-1][1]
        return due


def _settling(tracklet: Tracklet) -> bool:
    return len(tracklet.time_s) < 2 or tracklet.time_s[-1] - tracklet.time_s[0] < SETTLE_S


def _speed(tracklet: Tracklet) -> float:
    """Of the fastest joint that is seen, in spans a second, between the last two poses."""
    before, now = tracklet.bodies[-2], tracklet.bodies[-1]
    seen = tracklet.poses[-1].visibility[_JOINTS] >= SEEN
    way_px = np.linalg.norm(now.points[_JOINTS] - before.points[_JOINTS], axis=1)
    step_s = tracklet.time_s[-1] - tracklet.time_s[-2]
    return float(way_px[seen].max(initial=0.0) / (now.span_px * step_s))


def _change(known: Frame, frame: Frame, body: Body) -> float:
    """Share of the body's part of the picture that has changed by more than noise."""
    difference = np.abs(frame.grey.astype(np.int16) - known.grey)
    noise = float(np.median(difference))
    if noise > SHAKEN_LEVELS:
        return 1.0
    moved = _part(difference, body) > CHANGED_LEVELS + CHANGED_NOISE * noise
    return float(moved.mean())


def _part(grey: NDArray[np.int16], body: Body) -> NDArray[np.int16]:
    """The body's box, with room for hands and feet, of the small picture."""
    room = BOX_PADDING * body.span_px * np.array([-1, -1, 1, 1])
    box = (body.box + room) / GREY_STEP
    left, top, right, bottom = np.maximum(box, 0).astype(int)
    return grey[top : bottom + 1, left : right + 1]
