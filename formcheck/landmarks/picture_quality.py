"""Light and sharpness of the recording, and a face hidden beforehand, sampled about once a second."""

import cv2
import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.clips.types import Frame
from formcheck.landmarks.body import Body

SAMPLE_EVERY_S = 1.0
"""Light and focus change slowly: a frame a second tells them. Mechanical."""
DARK_LUMA = 20.0
"""Mean luma (0-255) of the subject. By trial on rendered clips with noise: landmarks are as good
as in full light at 30, worse at the wrist at 15, and nobody is found at 8. Read on rendered
people."""
BLURRED = 0.0015
"""Variance of the Laplacian over variance of the picture, after light smoothing against noise, in
640-pixel pictures: 0.014 sharp, 0.0015 when blurred by 4 pixels, where wrist errors start to grow.
Read on rendered people."""
_SHARE_OF_CLIP = 0.3
"""Darkness or blur for less than this share of the clip is not reported. A proposal."""
PLAIN_LEVELS, STRUCTURED_LEVELS = 3.5, 4.0
"""Nine in ten steps from pixel to pixel are no larger than this (0-255) where a face was blurred, coarsely
pixelated or painted over in one colour (0 to 3; faces and hair 5 to 48, as also a real one that was finely
pixelated), while the body around shows larger ones. Read on rendered people."""
_PLAIN_PERCENTILE = 90.0
"""The steps of which share of the pixels is meant. Mechanical."""
_FACE_SPANS = 0.04
"""Half a side of the square about the middle of the face, in spans: 7 cm. A proposal."""
_FACE_MARKS = 11
"""So many landmarks lie in the face, the first ones. Mechanical."""
_FEWEST_PX = 4
"""A square smaller than this shows nothing. Mechanical."""


class PictureQuality:
    """Samples light and sharpness as frames come; ``problems`` sums them up."""

    def __init__(self) -> None:
        self._next_s = 0.0
        self._luma: list[float] = []
        self._detail: list[float] = []
        self._face_hidden: list[bool] = []

    def sample(self, frame: Frame, subject: Body | None) -> None:
        """Sample the frame if one is due: the largest person's part of it, or all of it."""
        if frame.time_s < self._next_s:
            return
        self._next_s = frame.time_s + SAMPLE_EVERY_S
        image = frame.image
        if subject is not None:
            left, top, right, bottom = subject.box.astype(int)
            image = image[top : bottom + 1, left : right + 1]
        grey = np.asarray(cv2.cvtColor(np.ascontiguousarray(image), cv2.COLOR_RGB2GRAY), np.uint8)
        self._luma.append(float(grey.mean()))
        if subject is not None:
            self._face_hidden.append(_face_hidden(frame.image, subject, _steps(grey)))
            smooth = cv2.GaussianBlur(grey, (5, 5), 1.0)
            self._detail.append(
                float(cv2.Laplacian(smooth, cv2.CV_64F).var() / max(grey.var(), 1.0))
            )

    def problems(self) -> tuple[RecordingProblem, ...]:
        """Darkness, blur and a hidden face, where they last for a good part of the clip."""
        found = []
        if self._luma and np.mean(np.array(self._luma) < DARK_LUMA) > _SHARE_OF_CLIP:
            found.append(RecordingProblem(ProblemCode.TOO_DARK))
        if self._detail and np.mean(np.array(self._detail) < BLURRED) > _SHARE_OF_CLIP:
            found.append(RecordingProblem(ProblemCode.TOO_BLURRY))
        if self._face_hidden and np.mean(self._face_hidden) > _SHARE_OF_CLIP:
            found.append(RecordingProblem(ProblemCode.FACE_HIDDEN))
        return tuple(found)


def _face_hidden(image: NDArray[np.uint8], body: Body, body_levels: float) -> bool:
    """Whether the middle of the face is one plain patch on a body with more detail."""
    reach = _FACE_SPANS * body.span_px
    (x, y), (height, width) = body.points[:_FACE_MARKS].mean(axis=0), image.shape[:2]
    left, right = (int(np.clip(at, 0, width)) for at in (x - reach, x + reach))
    top, bottom = (int(np.clip(at, 0, height)) for at in (y - reach, y + reach))
    if min(right - left, bottom - top) < _FEWEST_PX:
        return False
    face = np.ascontiguousarray(image[top:bottom, left:right])
    grey = np.asarray(cv2.cvtColor(face, cv2.COLOR_RGB2GRAY), np.uint8)
    return _steps(grey) <= PLAIN_LEVELS and body_levels >= STRUCTURED_LEVELS


def _steps(grey: NDArray[np.uint8]) -> float:
    """The usual largest step from a pixel to the next one, in levels."""
    levels = grey.astype(np.int16)
    steps = [np.abs(np.diff(levels, axis=axis)).ravel() for axis in (0, 1)]
    return float(np.percentile(np.concatenate(steps), _PLAIN_PERCENTILE))
