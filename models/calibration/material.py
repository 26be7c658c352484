"""Made clips on the graphics processor: what was seen of whom, ready to be shown anew and otherwise."""

from dataclasses import dataclass, fields
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from formcheck.measures.posture import posture_from
from formcheck.measures.table import SIDES
from models.calibration.altered import Shown
from models.calibration.dataset import SEEN, track_of, truth_for, visibility
from models.calibration.seen import MIRRORED, Seen, constant
from models.calibration.shards import KEPT, Clip, read_shard
from models.calibration.truth import COLUMNS

_LEAST_KNOWN = 0.3
_AXES = [[COLUMNS.index(f"{axis}_{k}") for k in "xyz"] for axis in ("left", "up")]
Parts = tuple[NDArray[np.floating], ...]


@dataclass(slots=True)
class Material:
    """Clips one after the other: rows (n, ...) of all, and (k,) of each.

    ``image`` in pixels from the picture's middle; ``truth`` and ``in_view`` of the left and the right
    arm, (n, 2, ...); ``known`` where somebody was found (elsewhere the nearest known time stands).
    """

    image: Tensor
    world: Tensor
    visibility: Tensor
    places: Tensor
    left: Tensor
    up: Tensor
    truth: Tensor
    in_view: Tensor
    known: Tensor
    lengths: Tensor
    larger: Tensor
    focal_px: Tensor
    rate_hz: Tensor

    @property
    def starts(self) -> Tensor:
        """The first row of each clip."""
        return torch.cumsum(self.lengths, 0) - self.lengths

    def save(self, path: Path) -> None:
        """Write to a file."""
        torch.save({f.name: getattr(self, f.name).cpu() for f in fields(self)}, path)

    @classmethod
    def load(cls, path: Path, device: str) -> "Material":
        """What was saved."""
        return cls(**{k: v.to(device) for k, v in torch.load(path, map_location="cpu").items()})

    def thinned(self, rate_hz: float) -> "Material":
        """The clips with no more than so many times a second; those of other rates are left out."""
        every = torch.round(self.rate_hz / rate_hz).long()
        rows, kept = [], []
        for k, (start, length) in enumerate(zip(self.starts, self.lengths, strict=True)):
            if abs(self.rate_hz[k] - every[k] * rate_hz) < 1e-3:
                rows.append(torch.arange(int(start), int(start + length), int(every[k])))
                kept.append(k)
        every_row, some = torch.cat(rows), torch.tensor(kept)
        lengths = torch.tensor([len(part) for part in rows])
        of_rows = [getattr(self, f.name)[every_row] for f in fields(self)[:9]]
        rates = torch.full((len(some),), rate_hz)
        return Material(*of_rows, lengths, self.larger[some], self.focal_px[some], rates)

    @classmethod
    def joined(cls, parts: "list[Material]") -> "Material":
        """Several sets as one."""
        return cls(*(torch.cat([getattr(p, f.name) for p in parts]) for f in fields(cls)))

    def to(self, device: str) -> "Material":
        """The same on another device."""
        return Material(*(getattr(self, f.name).to(device) for f in fields(self)))

    def shown(self, clips: Tensor, left: Tensor, index: Tensor, lengths: Tensor) -> Shown:
        """Times ``index`` (b, t) of clips (b,), the first ``lengths`` (b,) of them; of the left arm in
        the mirror where ``left`` (b,).
        """
        rows = self.starts[clips][:, None] + index
        way = torch.where(left, -1.0, 1.0)[:, None, None, None]
        other = constant(MIRRORED)

        def mirrored(values: Tensor) -> Tensor:
            values = torch.where(left[:, None, None, None], values.index_select(2, other), values)
            return torch.cat([values[..., :1] * way, values[..., 1:]], dim=-1)

        visible = self.visibility[rows]
        visible = torch.where(left[:, None, None], visible.index_select(2, other), visible)
        outward, up = self.left[rows], self.up[rows]
        axes = torch.stack([-way[..., 0] * outward, torch.cross(outward, up, dim=-1), up], dim=2)
        axes = torch.cat([axes[..., :1] * way, axes[..., 1:]], dim=-1)
        truth = torch.where(left[:, None, None], self.truth[rows, 0], self.truth[rows, 1])
        seen = Seen(
            mirrored(self.image[rows]),
            mirrored(self.world[rows]),
            visible,
            lengths,
            self.larger[clips],
            self.rate_hz[clips],
        )
        return Shown(seen, mirrored(self.places[rows]), axes, truth, self.focal_px[clips])


def material_of(folder: Path, set_name: str, workers: int) -> Material:
    """The clips of a set, read by several processes."""
    shards = sorted(folder.glob(f"{set_name}_[0-9]*.npz"))
    with get_context("spawn").Pool(workers) as pool:
        clips = [clip for part in pool.imap(_of_shard, shards) for clip in part]
    rows, each = zip(*clips, strict=True)
    joined = [torch.from_numpy(np.concatenate(column)) for column in zip(*rows, strict=True)]
    lengths = torch.tensor([len(part[0]) for part in rows])
    larger, focal_px, rate_hz = torch.tensor(each, dtype=torch.float32).T
    return Material(*joined, lengths, larger, focal_px, rate_hz)


def _of_shard(path: Path) -> list[tuple[Parts, tuple[float, float, float]]]:
    torch.set_num_threads(1)
    read = [_of_clip(clip) for clip in read_shard(path)]
    return [clip for clip in read if clip is not None]


def _of_clip(clip: Clip) -> tuple[Parts, tuple[float, float, float]] | None:
    posture = posture_from(track_of(clip))
    kept = list(KEPT)
    count = min(len(clip.truth), len(posture.time_s))
    image, world = posture.image[:count, kept], posture.world[:count, kept]
    known = np.isfinite(image).all((1, 2)) & np.isfinite(world).all((1, 2))
    if known.mean() < _LEAST_KNOWN:
        return None
    nearest = _nearest(known)
    about = clip.about
    middle = np.array([about["width"], about["height"]]) / 2
    truth = np.stack([truth_for(clip, side) for side in SIDES], axis=1)
    in_view = np.stack([visibility(posture, side) >= SEEN for side in SIDES], axis=1)
    columns = [
        image[nearest] - middle,
        world[nearest],
        posture.visibility[:count, kept][nearest],
        clip.places[:count],
        *(clip.truth[:count, axis] for axis in _AXES),
        truth[:count],
    ]
    parts = (*(np.asarray(c, np.float32) for c in columns), in_view[:count], known)
    return parts, (max(about["width"], about["height"]), about["focal_px"], about["rate_hz"])


def _nearest(known: NDArray[np.bool_]) -> NDArray[np.int64]:
    """For each time the nearest known one."""
    at = np.flatnonzero(known)
    after = np.clip(np.searchsorted(at, np.arange(len(known))), 0, len(at) - 1)
    before = np.maximum(after - 1, 0)
    times = np.arange(len(known))
    return np.where(np.abs(at[before] - times) <= np.abs(at[after] - times), at[before], at[after])
