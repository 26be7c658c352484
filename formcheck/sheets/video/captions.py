"""Text for pictures, set in the shipped fonts so that every script can be written."""

import tempfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import cv2
import numpy as np

from formcheck.sheets.typesetting.typeset import typeset
from formcheck.sheets.video.anonymise import Picture

_LONGEST = 180


@dataclass(frozen=True, slots=True)
class Caption:
    """Words at a size in pixels; lines are broken at ``most`` pixels."""

    text: str
    size: int
    most: int
    bold: bool = False


def set_captions(captions: Iterable[Caption]) -> Mapping[Caption, Picture]:
    """For each caption how much of each pixel the letters cover: (height, width) uint8."""
    distinct = list(dict.fromkeys(captions))
    if not distinct:
        return {}
    data = [
        {"text": _fitting(c.text), "size": c.size, "most": c.most, "bold": c.bold} for c in distinct
    ]
    with tempfile.TemporaryDirectory() as empty:
        pages = typeset(_template(), data, root=Path(empty), output="png")
    return {caption: _cover(page) for caption, page in zip(distinct, pages, strict=True)}


def _template() -> bytes:
    return (resources.files(__package__) / "templates" / "captions.typ").read_bytes()


def _fitting(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= _LONGEST else line[: _LONGEST - 1] + "…"


def _cover(png: bytes) -> Picture:
    pixels = np.asarray(cv2.imdecode(np.frombuffer(png, np.uint8), cv2.IMREAD_UNCHANGED))
    return np.ascontiguousarray(pixels[..., 3], np.uint8)
