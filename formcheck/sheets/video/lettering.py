"""Text for pictures of one size, set in the shipped fonts so that every script can be written."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import Enum
from importlib import resources

import cv2
import numpy as np

from formcheck.scratch import typesetting_folder
from formcheck.sheets.typesetting.typeset import typeset
from formcheck.sheets.video.anonymise import Picture

_LONGEST = 180
"""Characters of a line that are shown. A proposal."""
_ONE_LINE_PX = 10_000
"""Wider than any picture. Mechanical."""


class Style(Enum):
    """How a text is set: its size in hundredths of the picture's shorter side, and its weight."""

    NOTE = (4.4, True)
    NAME = (3.8, False)
    COUNT = (11.0, True)
    TIMER = (6.0, True)
    VALUE = (4.0, True)


@dataclass(frozen=True, slots=True)
class Lettering:
    """Texts set for one picture size; ``unit_px`` is a hundredth of the picture's shorter side."""

    unit_px: float
    covers: Mapping[tuple[Style, str], Picture]

    def cover(self, style: Style, text: str) -> Picture:
        """How much of each pixel the letters cover: (height, width) uint8."""
        return self.covers[style, text]


def set_lettering(texts: Iterable[tuple[Style, str]], width: int, height: int) -> Lettering:
    """Set texts for pictures of a size in pixels; long notes and names go on over more lines."""
    distinct = list(dict.fromkeys(texts))
    unit = min(width, height) / 100
    widest_px = {Style.NOTE: round(width - 14 * unit), Style.NAME: round(60 * unit)}
    data = [
        {
            "text": _shortened(text),
            "size": round(style.value[0] * unit),
            "most": widest_px.get(style, _ONE_LINE_PX),
            "bold": style.value[1],
        }
        for style, text in distinct
    ]
    template = (resources.files(__package__) / "templates" / "captions.typ").read_bytes()
    with typesetting_folder() as empty:
        pages = typeset(template, data, root=empty, output="png")
    covers = {key: _alpha(page) for key, page in zip(distinct, pages, strict=True)}
    return Lettering(unit, covers)


def _shortened(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= _LONGEST else line[: _LONGEST - 1] + "…"


def _alpha(png: bytes) -> Picture:
    pixels = np.asarray(cv2.imdecode(np.frombuffer(png, np.uint8), cv2.IMREAD_UNCHANGED))
    return np.ascontiguousarray(pixels[..., 3], np.uint8)
