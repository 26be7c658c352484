"""Strokes on pictures; each has a dark edge, so that it shows on light and dark backgrounds."""

import cv2
import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.sheets.pages.marks import Mark
from formcheck.sheets.video.anonymise import Picture

Colour = tuple[int, int, int]
"""Red, green and blue, 0 to 255."""
INK: Colour = (24, 26, 41)
PAPER: Colour = (246, 246, 250)
IRIS: Colour = (182, 176, 255)
RUST: Colour = (255, 160, 120)
_SUBPIXEL_BITS = 4
"""OpenCV draws at sixteenths of a pixel. Mechanical."""
_FARTHEST_PX = 4000
"""Points further out are drawn at this distance: OpenCV's coordinates are small. Mechanical."""


def stroke(image: Picture, points: FloatArray, colour: Colour, width: float) -> None:
    """A line through points (n, 2), in place."""
    path = np.rint(np.clip(points, -_FARTHEST_PX, _FARTHEST_PX) * 2**_SUBPIXEL_BITS).astype(
        np.int32
    )[None]
    thin = max(round(width), 1)
    for ink, wide in ((INK, thin + max(thin // 2, 2)), (colour, thin)):
        cv2.polylines(image, path, False, ink, wide, cv2.LINE_AA, _SUBPIXEL_BITS)


def dot(image: Picture, centre: FloatArray, radius: float, colour: Colour) -> None:
    """A filled dot, in place."""
    _circle(image, centre, radius + max(radius / 3, 1.5), INK, -1)
    _circle(image, centre, radius, colour, -1)


def ring(image: Picture, centre: FloatArray, radius: float, colour: Colour, width: float) -> None:
    """An open ring, in place."""
    _circle(image, centre, radius, INK, max(round(1.8 * width), 3))
    _circle(image, centre, radius, colour, max(round(width), 1))


def arc(centre: FloatArray, radius: float, start_rad: float, end_rad: float) -> FloatArray:
    """(n, 2) points along an arc; angles from the picture's x axis, y down."""
    steps = max(int(abs(end_rad - start_rad) / 0.06), 2)
    angles = np.linspace(start_rad, end_rad, steps)
    return centre + radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)


def panel(image: Picture, left: int, top: int, width: int, height: int) -> None:
    """A dark background to write on, in place; what lies behind shows through a little."""
    area = image[max(top, 0) : top + height, max(left, 0) : left + width]
    area[:] = (0.25 * area + 0.75 * np.array(INK)).astype(np.uint8)


def write(image: Picture, cover: Picture, left: int, top: int, colour: Colour = PAPER) -> None:
    """Letters onto the picture, in place: ``cover`` is how much of each pixel they cover (uint8)."""
    height = min(cover.shape[0], image.shape[0] - top)
    width = min(cover.shape[1], image.shape[1] - left)
    if height <= 0 or width <= 0 or top < 0 or left < 0:
        return
    area = image[top : top + height, left : left + width]
    share = cover[:height, :width, None].astype(np.float32) / 255
    area[:] = (area + share * (np.array(colour, np.float32) - area)).astype(np.uint8)


def draw_mark(image: Picture, mark: Mark, left: float, top: float, width: float) -> None:
    """The mark of a verdict, as on the pages: a box 24 wide and 36 high, scaled to ``width``."""
    scale = width / 24
    thick = 1.8 * scale

    def place(x: float, y: float) -> FloatArray:
        return np.array([left + x * scale, top + y * scale])

    far = 13 if mark.name == "partial" else 24
    unseen = mark.name in ("not-measurable", "look", "check-yourself")
    rails = () if unseen else (12, 24)
    for y in rails:
        stroke(image, np.array([place(0, y), place(far, y)]), PAPER, thick)
    match mark.name:
        case "within":
            dot(image, place(12, 18), 4.5 * scale, IRIS)
        case "probably-fine" | "done":
            ring(image, place(12, 18), 4 * scale, PAPER, thick)
        case "borderline":
            at = place(12, 24 if mark.below else 12)
            ring(image, at, 4 * scale, PAPER, thick)
            dot(image, at, 1.5 * scale, PAPER)
        case "outside":
            rail, end, middle = (24.0, 28.0, 31.5) if mark.below else (12.0, 8.0, 4.5)
            stroke(image, np.array([place(12, rail), place(12, end)]), RUST, thick)
            ring(image, place(12, middle), 3.6 * scale, RUST, 1.3 * thick)
        case "partial":
            dot(image, place(13, 18), 3 * scale, PAPER)
        case _:
            stroke(image, np.array([place(9, 18), place(15, 18)]), PAPER, thick)


def _circle(image: Picture, centre: FloatArray, radius: float, colour: Colour, width: int) -> None:
    x, y = (
        int(v) for v in np.rint(np.clip(centre, -_FARTHEST_PX, _FARTHEST_PX) * 2**_SUBPIXEL_BITS)
    )
    size = max(round(radius * 2**_SUBPIXEL_BITS), 1)
    cv2.circle(image, (x, y), size, colour, width, cv2.LINE_AA, _SUBPIXEL_BITS)
