"""Clips on disk: landmarks and truth as scaled integers, differences over time, zipped."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from models.calibration.truth import COLUMNS

Array = NDArray[np.float64]
KEPT = (0, 7, 8, 11, 12, 13, 14, 15, 16, 19, 20, 23, 24, 25, 26, 27, 28)
"""Landmarks kept: nose, ears, shoulders, elbows, wrists, index fingers, hips, knees, ankles."""

_DEGREES = ("lean_side", "lean_forward", "turn", "body_line")
_TRUTH_SCALE = np.array([100.0 if c in _DEGREES else 4_000.0 for c in COLUMNS])
_PIXEL_SCALE, _METRE_SCALE, _PLACE_SCALE, _MISSING = 8.0, 2_000.0, 1_000.0, -32_768


@dataclass(frozen=True, slots=True)
class Clip:
    """One clip's landmarks (n, len(KEPT), ...), true places (n, len(KEPT), 3) of what they mark, metres
    from the camera in its axes, and truth (n, len(COLUMNS)), ``about["rate_hz"]`` a second.
    """

    about: dict[str, Any]
    image: Array
    world: Array
    visibility: Array
    places: Array
    truth: Array


def _pack(values: Array, scale: Array | float) -> NDArray[np.int16]:
    """Differences over time of rounded values; 16-bit wrap-around undoes itself in _unpack."""
    whole = np.clip(np.round(values * scale), -32_767, 32_767)
    whole = np.where(np.isfinite(whole), whole, _MISSING).astype(np.int16)
    return np.diff(whole, axis=0, prepend=np.zeros_like(whole[:1]))


def _unpack(packed: NDArray[np.int16], scale: Array | float) -> Array:
    whole = np.cumsum(packed, axis=0, dtype=np.int16).astype(np.float64)
    return np.where(whole == _MISSING, np.nan, whole / scale)


def write_shard(path: Path, clips: list[Clip]) -> None:
    """Write clips to one compressed file."""
    np.savez_compressed(
        path,
        about=np.array(json.dumps([c.about for c in clips])),
        frames=np.array([len(c.truth) for c in clips]),
        image=np.concatenate([_pack(c.image, _PIXEL_SCALE) for c in clips]),
        world=np.concatenate([_pack(c.world, _METRE_SCALE) for c in clips]),
        visibility=np.concatenate([np.round(c.visibility * 255).astype(np.uint8) for c in clips]),
        places=np.concatenate([_pack(c.places, _PLACE_SCALE) for c in clips]),
        truth=np.concatenate([_pack(c.truth, _TRUTH_SCALE) for c in clips]),
    )


def read_shard(path: Path) -> list[Clip]:
    """Clips of one file, in the units of ``Clip``."""
    z = np.load(path)
    edges = np.cumsum(z["frames"])[:-1]
    parts = [np.split(z[k], edges) for k in ("image", "world", "visibility", "places", "truth")]
    return [
        Clip(
            about,
            _unpack(image, _PIXEL_SCALE),
            _unpack(world, _METRE_SCALE),
            visibility / 255.0,
            _unpack(places, _PLACE_SCALE),
            _unpack(truth, _TRUTH_SCALE),
        )
        for about, image, world, visibility, places, truth in zip(
            json.loads(str(z["about"])), *parts, strict=True
        )
    ]
