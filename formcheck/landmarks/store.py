"""A landmark track in a file: numpy arrays and a JSON header, no pickle, whole or not there."""

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

import numpy as np

from formcheck.atomic_output import whole_file
from formcheck.catalogue.arrays import IntArray
from formcheck.catalogue.problems import restored
from formcheck.landmarks.track import LANDMARK_COUNT, Bystanders, LandmarkTrack

SCHEMA = 4
"""Version of the stored layout. Mechanical."""
_ARRAYS = {
    "time_s": (np.float64, ()),
    "image_px": (np.float32, (LANDMARK_COUNT, 3)),
    "world_m": (np.float32, (LANDMARK_COUNT, 3)),
    "visibility": (np.float32, (LANDMARK_COUNT,)),
}
"""Type and shape of each array, by frame. Mechanical."""
_INDICES = ("skipped", "exchanged")
"""Arrays that list some of the times by their index."""
_BYSTANDERS = {"time_s": (np.float64, ()), "image_px": (np.float32, (LANDMARK_COUNT, 2))}
"""Type and shape of the arrays of other people, by sighting. Mechanical."""


def save_track(path: Path, track: LandmarkTrack, extra: dict[str, Any]) -> None:
    """Write a track, and ``extra`` (anything JSON can hold), whole or not at all.

    Raises OSError if the file cannot be written.
    """
    header = {
        "schema": SCHEMA,
        "width": track.width,
        "height": track.height,
        "model": track.model,
        "model_sha256": track.model_sha256,
        "problems": [asdict(problem) for problem in track.problems],
        "extra": extra,
    }
    arrays = {
        name: getattr(track, name).astype(dtype, copy=False) for name, (dtype, _) in _ARRAYS.items()
    }
    arrays |= {
        f"bystanders_{name}": getattr(track.bystanders, name).astype(dtype)
        for name, (dtype, _) in _BYSTANDERS.items()
    }
    arrays |= {name: getattr(track, name).astype(np.int64) for name in _INDICES}
    text = np.frombuffer(json.dumps(header).encode(), dtype=np.uint8)
    with whole_file(path) as fresh, fresh.open("wb") as file:
        np.savez(file, header=text, **arrays)


def load_track(path: Path) -> tuple[LandmarkTrack, dict[str, Any]]:
    """Read what ``save_track`` wrote.

    Raises ValueError if the file is damaged or of another schema, OSError if it cannot be read.
    """
    try:
        with np.load(path, allow_pickle=False) as stored:
            header = json.loads(stored["header"].tobytes())
            arrays = {
                name: stored[name].astype(dtype, copy=False) for name, (dtype, _) in _ARRAYS.items()
            }
            indices = {name: stored[name].astype(np.int64) for name in _INDICES}
            bystanders = {
                name: stored[f"bystanders_{name}"].astype(dtype)
                for name, (dtype, _) in _BYSTANDERS.items()
            }
        if header["schema"] != SCHEMA:
            raise ValueError(f"schema {header['schema']} instead of {SCHEMA}")
        _check_shapes(arrays, _ARRAYS)
        _check_indices(indices, len(arrays["time_s"]))
        _check_shapes(bystanders, _BYSTANDERS)
        _check_values(arrays, header)
        track = LandmarkTrack(
            **arrays,
            width=header["width"],
            height=header["height"],
            model=header["model"],
            model_sha256=header["model_sha256"],
            problems=tuple(map(restored, header["problems"])),
            **indices,
            bystanders=Bystanders(**bystanders),
        )
        return track, header["extra"]
    except (KeyError, TypeError, ValueError, AttributeError, EOFError, BadZipFile) as error:
        raise ValueError(f"{path} is not a whole landmark file: {error}") from error


def stored_extra(path: Path) -> dict[str, Any]:
    """What was stored beside a track, without reading the track; empty where it cannot be read."""
    try:
        with np.load(path, allow_pickle=False) as stored:
            extra = json.loads(stored["header"].tobytes())["extra"]
    except (OSError, KeyError, TypeError, ValueError, AttributeError, EOFError, BadZipFile):
        return {}
    return extra if isinstance(extra, dict) else {}


def _check_values(arrays: dict[str, Any], header: dict[str, Any]) -> None:
    """Refuse what no clip can have given."""
    time_s, seen = arrays["time_s"], np.isfinite(arrays["image_px"])
    if (
        not len(time_s)
        or not np.isfinite(time_s).all()
        or (np.diff(time_s, prepend=-1e-9) <= 0).any()
    ):
        raise ValueError("times are not rising from 0")
    if any(np.isinf(array).any() for array in arrays.values()):
        raise ValueError("a landmark is infinitely far away")
    if not seen.any() and not any(problem["fatal"] for problem in header["problems"]):
        raise ValueError("nobody is in view and nothing says so")
    sizes, names = (header["width"], header["height"]), (header["model"], header["model_sha256"])
    if not all(type(size) is int and size > 0 for size in sizes):
        raise ValueError("the picture has no size")
    if not all(isinstance(name, str) for name in names):
        raise ValueError("the model has no name")


def _check_indices(indices: dict[str, IntArray], count: int) -> None:
    for name, listed in indices.items():
        if listed.ndim != 1 or not np.isin(listed, np.arange(count)).all():
            raise ValueError(f"{name} times are not among the times")


def _check_shapes(arrays: dict[str, Any], expected: dict[str, Any]) -> None:
    count = len(arrays["time_s"])
    for name, (_, shape) in expected.items():
        if arrays[name].shape != (count, *shape):
            raise ValueError(f"{name} has shape {arrays[name].shape}")
