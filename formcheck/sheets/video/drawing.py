"""Strokes on pictures; each has a dark edge, so that it shows on light and dark backgrounds."""

from itertools import pairwise

import cv2
import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.sheets.pages.gauge import WIDTH
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


def dashed(
    image: Picture, points: FloatArray, colour: Colour, width: float, dash_px: float
) -> None:
    """A dashed line through points (n, 2), in place: dashes and gaps of ``dash_px``."""
    for start, end in pairwise(points):
        length = float(np.linalg.norm(end - start))
        for at in np.arange(0.0, length, 2 * dash_px):
            share = np.array([[at], [min(at + dash_px, length)]]) / max(length, 1e-6)
            stroke(image, start + share * (end - start), colour, width)


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
    """The mark of a verdict as on the pages, its box scaled to ``width``."""
    scale = width / WIDTH
    thick = 1.8 * scale
    beyond = RUST if mark.name == "outside" else PAPER

    def place(x: float, y: float) -> FloatArray:
        return np.array([left + x * scale, top + y * scale])

    for line in mark.gauge.lines:
        ends = np.array([place(line.x0, line.y0), place(line.x1, line.y1)])
        colour = beyond if line.ink == "whisker" else PAPER
        stroke(image, ends, colour, 2 * thick if line.ink == "safety" else thick)
    for one in mark.gauge.dots:
        at, radius = place(one.x, one.y), one.radius * scale
        match one.ink:
            case "within":
                dot(image, at, radius, IRIS)
            case "open":
                ring(image, at, radius, PAPER, thick)
            case "outside":
                ring(image, at, radius, RUST, 1.3 * thick)
            case _:
                dot(image, at, radius, PAPER)


def _circle(image: Picture, centre: FloatArray, radius: float, colour: Colour, width: int) -> None:
    x, y = (
        int(v) for v in np.rint(np.clip(centre, -_FARTHEST_PX, _FARTHEST_PX) * 2**_SUBPIXEL_BITS)
    )
    size = max(round(radius * 2**_SUBPIXEL_BITS), 1)
    cv2.circle(image, (x, y), size, colour, width, cv2.LINE_AA, _SUBPIXEL_BITS)
