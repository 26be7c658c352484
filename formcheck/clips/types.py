"""What the clips package hands on."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.uint8]

GREY_STEP = 4
"""The grey picture has every fourth column and row: enough to tell what moves. Mechanical."""


@dataclass(frozen=True, slots=True)
class ClipInfo:
    """What is known of a clip once it has been opened; sizes are those of the upright picture.

    ``rotation_deg`` is how far the stored picture is turned clockwise to stand upright.
    ``stated_duration_s`` is what the file says of itself, if it does, after ``--speed``.
    """

    path: Path
    sha256: str
    width: int
    height: int
    rotation_deg: int
    container: str
    codec: str
    pixel_format: str
    stated_duration_s: float | None = None


@dataclass(frozen=True, slots=True)
class ClipLimits:
    """The most that a clip may be: real seconds, pixels of a picture, and GB of all as colours."""

    duration_s: float = 1800.0
    pixels: int = 9_000_000
    decoded_gb: float = 400.0


class Frame:
    """One upright picture, whose colours are made when they are first asked for.

    ``time_s`` counts from the first shown frame, from presentation timestamps, after ``--speed``.
    ``image`` and ``grey`` may be given as they are or as functions that make them.
    """

    def __init__(
        self,
        time_s: float,
        image: "Pixels | Callable[[], Pixels]",
        grey: "Pixels | Callable[[], Pixels] | None" = None,
    ) -> None:
        self.time_s = time_s
        self._image = image
        self._grey = grey

    @property
    def image(self) -> Pixels:
        """(height, width, 3) RGB, C-contiguous, scaled down to what was asked for.

        Raises ClipError if the picture is stored in a way that cannot be turned into colours.
        """
        if callable(self._image):
            self._image = self._image()
        return self._image

    @property
    def grey(self) -> Pixels:
        """About (height / 4, width / 4) brightness: enough to see whether something moves.

        Cheap beside ``image``. Raises as ``image``.
        """
        if self._grey is None:
            self._grey = np.ascontiguousarray(self.image[::GREY_STEP, ::GREY_STEP, 1])
        elif callable(self._grey):
            self._grey = self._grey()
        return self._grey


@dataclass(frozen=True, slots=True)
class DecodeReport:
    """What decoding met, known once the clip has been read to its end.

    Counts, duration and rate are those of all whole pictures of the clip, in real time, also where
    fewer were asked for. ``damaged_packets`` counts the pictures that were lost to damage.
    """

    frames: int
    duration_s: float
    mean_rate_hz: float
    variable_rate: bool
    damaged_packets: int
    repaired_times: int
    ended_early: bool
