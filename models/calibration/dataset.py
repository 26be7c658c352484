"""Made clips as fitting data: the product's own features and the truth that belongs to them."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formcheck.landmarks.track import LANDMARK_COUNT, Joint, LandmarkTrack
from formcheck.measures.features import arm_features
from formcheck.measures.posture import Posture, posture_from
from formcheck.measures.table import SIDES, Side
from models.calibration.nearby import near_copies
from models.calibration.shards import KEPT, Clip, read_shard
from models.calibration.truth import ARM_COLUMNS, COLUMNS

Array = NDArray[np.float64]
TARGETS = (
    *ARM_COLUMNS,
    *(f"gravity_{k}" for k in ("lateral", "forward", "up")),
    "lean_side",
    "lean_forward",
    "turn",
    "body_line",
    "hip_off_line",
)
"""Truth of one arm seen as a right arm; lean and turn change sign for the left one."""
FITTED, SCALED_ON = ("fit", "loose", "wide"), ("tune", "trial")
"""Sets that are fitted, and sets of other people that uncertainties are scaled and choices made on."""
SEEN = 0.5
"""Visibility from which an arm counts as in view."""
_COLUMN = {name: k for k, name in enumerate(COLUMNS)}


@dataclass(frozen=True, slots=True)
class Rows:
    """Features (m, f), raw arm directions (m, 3), truth (m, len(TARGETS)), whether the arm is
    in view (m,), times (m,) in seconds, how many rows belong to each arm of a clip (k,), one
    after the other, and whether that clip was rendered (k,) or is a near copy of one.
    """

    features: NDArray[np.float16]
    upper: NDArray[np.float32]
    fore: NDArray[np.float32]
    truth: NDArray[np.float32]
    seen: NDArray[np.bool_]
    time_s: Array
    lengths: NDArray[np.int64]
    rendered: NDArray[np.bool_]


Parts = list[tuple[NDArray[Any], ...]]
"""The columns of Rows of each arm of some clips."""


def clips_of(folder: Path, set_name: str) -> Iterator[Clip]:
    """The clips of a set, in the order of its files."""
    for path in sorted(folder.glob(f"{set_name}_*.npz")):
        yield from read_shard(path)


def track_of(clip: Clip) -> LandmarkTrack:
    """A made clip as the landmarks package would hand it on."""
    count = len(clip.truth)
    image, world = (np.zeros((count, LANDMARK_COUNT, 3)) for _ in range(2))
    visibility = np.zeros((count, LANDMARK_COUNT))
    kept = list(KEPT)
    image[:, kept, :2], world[:, kept], visibility[:, kept] = (
        clip.image,
        clip.world,
        clip.visibility,
    )
    lost = ~np.isfinite(clip.image[:, 0, 0])
    image[lost], world[lost] = np.nan, np.nan
    return LandmarkTrack(
        time_s=np.arange(count) / clip.about["rate_hz"],
        image_px=image,
        world_m=world,
        visibility=visibility,
        width=clip.about["width"],
        height=clip.about["height"],
        model="full",
        model_sha256="",
    )


def truth_for(clip: Clip, side: Side) -> Array:
    """Truth (n, len(TARGETS)) of one arm, in the axes and signs of the features."""

    def of(*names: str) -> Array:
        return np.asarray(clip.truth[:, [_COLUMN[name] for name in names]])

    left, up, gravity = (of(*(f"{a}_{k}" for k in "xyz")) for a in ("left", "up", "gravity_up"))
    forward = np.cross(left, up)
    outward = left if side == "left" else -left
    sign = 1.0 if side == "right" else -1.0
    letter = side[0].upper()
    along = [np.sum(gravity * axis, axis=1) for axis in (outward, forward, up)]
    return np.concatenate(
        [
            of(*(f"{name}_{letter}" for name in ARM_COLUMNS)),
            np.stack(along, axis=1),
            sign * of("lean_side"),
            of("lean_forward"),
            sign * of("turn"),
            of("body_line", "hip_off_line"),
        ],
        axis=1,
    )


def rows_of(
    folder: Path, *set_names: str, bodies: Path | None = None, copies: int = 0, workers: int = 1
) -> Rows:
    """Every known time of both arms of the clips of some sets, and of so many near copies of each
    (which need the baked ``bodies``), read by several processes.
    """
    shards = [path for name in set_names for path in sorted(folder.glob(f"{name}_*.npz"))]
    of_shard = partial(_rows_of_shard, bodies=bodies, copies=copies)
    if workers == 1:
        parts = [arm for shard in shards for arm in of_shard(shard)]
    else:
        with get_context("spawn").Pool(workers) as pool:
            parts = [arm for arms in pool.imap(of_shard, shards) for arm in arms]
    *columns, rendered = zip(*parts, strict=True)
    lengths = np.array([len(part[0]) for part in parts])
    joined = [np.concatenate(column) for column in columns]
    return Rows(*joined, lengths, np.array(rendered))


def _rows_of_shard(path: Path, bodies: Path | None, copies: int) -> Parts:
    parts: Parts = []
    for clip in read_shard(path):
        parts += _rows_of_clip(clip, rendered=True)
        for near in near_copies(bodies, clip, copies) if bodies is not None else ():
            parts += _rows_of_clip(near, rendered=False)
    return parts


def _rows_of_clip(clip: Clip, *, rendered: bool) -> Parts:
    parts: Parts = []
    posture = posture_from(track_of(clip))
    for side in SIDES:
        arm = arm_features(posture, side)
        known = np.isfinite(arm.values).all(axis=1)
        if known.any():
            found = (arm.upper, arm.fore, truth_for(clip, side))
            columns = (column[known].astype(np.float32) for column in found)
            seen = visibility(posture, side)[known] >= SEEN
            values = arm.values[known].astype(np.float16)
            parts.append((values, *columns, seen, posture.time_s[known], np.array(rendered)))
    return parts


def visibility(posture: Posture, side: Side) -> Array:
    """Least visibility (n,) of an arm's shoulder, elbow and wrist."""
    joints = (Joint[f"{side.upper()}_{name}"] for name in ("SHOULDER", "ELBOW", "WRIST"))
    return np.asarray(np.min([posture.visibility[:, joint] for joint in joints], axis=0))
