"""Light and sharpness of the recording, sampled about once a second."""

import cv2
import numpy as np

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


class PictureQuality:
    """Samples light and sharpness as frames come; ``problems`` sums them up."""

    def __init__(self) -> None:
        self._next_s = 0.0
        self._luma: list[float] = []
        self._detail: list[float] = []

    def sample(self, frame: Frame, subject: Body | None) -> None:
        """Sample the frame if one is due: the largest person's part of it, or all of it."""
        if frame.time_s < self._next_s:
            return
        self._next_s = frame.time_s + SAMPLE_EVERY_S
        image = frame.image
        if subject is not None:
            left, top, right, bottom = subject.box.astype(int)
            image = image[top : bottom + 1, left : right + 1]
        grey = cv2.cvtColor(np.ascontiguousarray(image), cv2.COLOR_RGB2GRAY)
        self._luma.append(float(grey.mean()))
        if subject is not None:
            smooth = cv2.GaussianBlur(grey, (5, 5), 1.0)
            self._detail.append(
                float(cv2.Laplacian(smooth, cv2.CV_64F).var() / max(grey.var(), 1.0))
            )

    def problems(self) -> tuple[RecordingProblem, ...]:
        """Darkness and blur, where they last for a good part of the clip."""
        found = []
        if self._luma and np.mean(np.array(self._luma) < DARK_LUMA) > _SHARE_OF_CLIP:
            found.append(RecordingProblem(ProblemCode.TOO_DARK))
        if self._detail and np.mean(np.array(self._detail) < BLURRED) > _SHARE_OF_CLIP:
            found.append(RecordingProblem(ProblemCode.TOO_BLURRY))
        return tuple(found)
