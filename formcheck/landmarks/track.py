"""The landmark track: where the subject's joints are at each analysed time."""

from dataclasses import dataclass, field
from enum import IntEnum

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray, IntArray, SingleArray
from formcheck.catalogue.problems import RecordingProblem


class Joint(IntEnum):
    """Index of the landmarks that formcheck reads, in the pose model's order of 33."""

    NOSE = 0
    LEFT_EYE = 2
    RIGHT_EYE = 5
    LEFT_EAR = 7
    RIGHT_EAR = 8
    LEFT_SHOULDER = 11
    RIGHT_SHOULDER = 12
    LEFT_ELBOW = 13
    RIGHT_ELBOW = 14
    LEFT_WRIST = 15
    RIGHT_WRIST = 16
    LEFT_INDEX = 19
    RIGHT_INDEX = 20
    LEFT_HIP = 23
    RIGHT_HIP = 24
    LEFT_KNEE = 25
    RIGHT_KNEE = 26
    LEFT_ANKLE = 27
    RIGHT_ANKLE = 28
    LEFT_HEEL = 29
    RIGHT_HEEL = 30
    LEFT_TOES = 31
    RIGHT_TOES = 32


LANDMARK_COUNT = 33
"""Landmarks that the pose model marks on a person. Mechanical."""
OTHER_SIDE = (0, 4, 5, 6, 1, 2, 3, *((joint - 1 ^ 1) + 1 for joint in range(7, 33)))
"""Index of the same landmark of the other side, in the pose model's order. Mechanical."""
MAX_SIDE_PX = 640
"""Longer side of the frames to analyse. Joint positions and angles are as good as from frames of
1280 pixels to within 0.3 degrees; at 360 the elbow is 0.5 degrees worse. Read on rendered people.
"""


@dataclass(frozen=True, slots=True, eq=False)
class Bystanders:
    """Where everybody else was, or whatever looked like somebody: a row a person and time.

    time_s    (m,)        rising
    image_px  (m, 33, 2)  as in the track
    """

    time_s: FloatArray = field(default_factory=lambda: np.zeros(0))
    image_px: SingleArray = field(
        default_factory=lambda: np.zeros((0, LANDMARK_COUNT, 2), np.float32)
    )


@dataclass(frozen=True, slots=True, eq=False)
class LandmarkTrack:
    """One subject's landmarks over the clip. NaN where the subject was not found.

    time_s      (n,)        analysed times, strictly rising, seconds from the first shown frame
    image_px    (n, 33, 3)  x right, y down in pixels of the upright full-size picture; z toward
                            the scene on the same scale as x (weak)
    world_m     (n, 33, 3)  metres, origin between the hips, axes as in the picture (y down, z away)
    visibility  (n, 33)     0-1, the model's own belief that the landmark is seen and inside the
                            picture; 0 where it lies outside, where the model can only imagine it
    skipped     (k,)        indices of the times at which the pose model did not look; landmarks
                            there come from the analysed times around them
    exchanged   (k,)        indices of the times at which the model took left for right; the sides
                            are put back, but depth is not to be trusted there
    bystanders                 the others in the picture, so that no picture of them is passed on
    """

    time_s: FloatArray
    image_px: SingleArray
    world_m: SingleArray
    visibility: SingleArray
    width: int
    height: int
    model: str
    model_sha256: str
    problems: tuple[RecordingProblem, ...] = ()
    skipped: IntArray = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    exchanged: IntArray = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    bystanders: Bystanders = field(default_factory=Bystanders)

    @property
    def tracked(self) -> BoolArray:
        """(n,) True where the subject was found."""
        return np.isfinite(self.image_px[:, Joint.NOSE, 0])

    @property
    def analysed(self) -> int:
        """How many times the pose model looked at."""
        return len(self.time_s) - len(self.skipped)
