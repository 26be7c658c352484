"""How a stored picture is made to stand upright, and how large it then is."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import atan2, degrees

import numpy as np
from numpy.typing import NDArray

_PLAUSIBLE_PIXEL_SHAPES = (Fraction(1, 4), Fraction(4))
"""A file that states narrower or wider pixels is taken to have square ones. A proposal."""


@dataclass(frozen=True, slots=True)
class Upright:
    """Turns a stored picture upright: rows and columns swapped first, then reversed.

    ``rotation_deg`` says how far that turns the picture clockwise: 0, 90, 180 or 270.
    """

    swap: bool = False
    flip_x: bool = False
    flip_y: bool = False
    rotation_deg: int = 0

    @classmethod
    def from_display_matrix(cls, matrix: Sequence[float]) -> "Upright":
        """The quarter turn and flip nearest to a display matrix of 9 numbers.

        The matrix (a b u, c d v, x y w) sends a stored point (p, q), q downward, to
        (a p + c q, b p + d q). Source: FFmpeg, libavutil/display.h.
        """
        a, b, _, c, d = matrix[:5]
        swap = abs(b) > abs(a)
        return cls(
            swap=swap,
            flip_x=(c if swap else a) < 0,
            flip_y=(b if swap else d) < 0,
            rotation_deg=round(degrees(atan2(b, a)) / 90) % 4 * 90,
        )

    def mirrored(self) -> "Upright":
        """The same, then left and right exchanged."""
        return Upright(self.swap, not self.flip_x, self.flip_y, self.rotation_deg)

    def apply(self, image: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """(height, width, 3) stored picture to the upright one, C-contiguous."""
        if self.swap:
            image = image.swapaxes(0, 1)
        if self.flip_x:
            image = image[:, ::-1]
        if self.flip_y:
            image = image[::-1]
        return np.ascontiguousarray(image)

    def size(self, width: int, height: int) -> tuple[int, int]:
        """Width and height once upright."""
        return (height, width) if self.swap else (width, height)


def shown_size(width: int, height: int, pixel_shape: Fraction | None) -> tuple[int, int]:
    """Width and height in square pixels, for pixels ``pixel_shape`` times as wide as high."""
    low, high = _PLAUSIBLE_PIXEL_SHAPES
    if pixel_shape and low <= pixel_shape <= high:
        width = max(1, round(width * pixel_shape))
    return width, height


def fitted_size(width: int, height: int, max_side_px: int | None) -> tuple[int, int]:
    """Width and height scaled down, never up, so that no side is longer than ``max_side_px``."""
    longest = max(width, height)
    if max_side_px is None or longest <= max_side_px:
        return width, height
    scale = max_side_px / longest
    return max(1, round(width * scale)), max(1, round(height * scale))
