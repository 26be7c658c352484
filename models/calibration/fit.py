"""Fit the learned estimate and write its weights.

    python -m models.calibration.fit --data DIR --bodies BODIES --out formcheck/measures/data

Fits an ensemble to the sets ``fit``, ``loose`` and ``wide``: first to every clip and COPIES near copies
of it, at the end to the rendered clips alone. Scales the uncertainties so that on both of the sets
``tune`` and ``trial`` (other bodies) the truth lies within two of them in at least a share COVERED of
all times at which the arm is in view.
The set ``judge`` is never looked at here. Needs the extra ``calibration`` (torch), 60 GB of memory and
a graphics processor, which fits a network in a quarter of an hour.
"""

import argparse
import json
import math
from pathlib import Path

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from formcheck.measures.network_layout import OUTPUTS, VERSION
from formcheck.measures.networks import CLIP_Z, neighbours
from models.calibration.dataset import FITTED, SCALED_ON, Rows, rows_of
from models.calibration.network import BASE_SD, Near, Network, errors, loss_of, sizes

UNITS, SEEDS = 512, (1, 2)
"""One network from each seed. Wider ones fit the clips better and unseen people no better."""
COPIES = 4
STEPS, ROWS, DECAY, WARM_UP = 30_000, 32_768, 5e-2, 0.08
RATE = 0.0015
RENDERED_ONLY = 0.48
"""Share of the steps after which only rendered clips are fitted: near copies teach geometry, the
rendered ones how the pose model errs."""
NOISE, CLIP_NOISE = 0.15, 0.25
"""Noise added to the standardised features, anew for each row and the same for a whole clip: the
second stands for bodies and cameras that the set does not hold."""
COVERED = 0.95
TRUSTED_SHARE = 0.995
"""Share of the held-out bodies' times whose unfamiliarity counts as familiar."""
DEVICE = "cuda" if torch.cuda.is_available() else "cpu"


class Clips:
    """A set on the device: rows one after the other, each arm of a clip at its own place."""

    def __init__(self, rows: Rows, mean: Tensor, spread: Tensor) -> None:
        blocks = (torch.from_numpy(part).float() for part in _blocks(rows.features))
        blocks = (((part - mean) / spread).clamp(-CLIP_Z, CLIP_Z).half() for part in blocks)
        self.features = torch.cat([part.to(DEVICE) for part in blocks])
        self.known = [torch.from_numpy(a).to(DEVICE) for a in (rows.upper, rows.fore, rows.truth)]
        self.lengths = torch.from_numpy(rows.lengths).to(DEVICE)
        self.rendered = torch.from_numpy(np.flatnonzero(rows.rendered)).to(DEVICE)
        self.seen = torch.from_numpy(rows.seen).to(DEVICE)
        self.starts = torch.cumsum(self.lengths, 0) - self.lengths
        times = np.split(rows.time_s, np.cumsum(rows.lengths)[:-1])
        looks = zip(*(neighbours(time_s) for time_s in times), strict=True)
        self.near = [
            [torch.from_numpy(np.concatenate(way).astype(np.int16)).to(DEVICE) for way in ways]
            for ways in (zip(*look, strict=True) for look in looks)
        ]  # rows counted from the start of their own clip

    def batch(self, clips: Tensor) -> tuple[Tensor, Near, Tensor]:
        """Rows of some clips, which of these rows each looks at, and the clip's place of each."""
        lengths = self.lengths[clips]
        place = torch.repeat_interleave(torch.arange(len(clips)), lengths)
        first = (torch.cumsum(lengths, 0) - lengths)[place]
        rows = torch.arange(len(place)) - first + self.starts[clips][place]
        near = [
            (before[rows].long() + first, after[rows].long() + first) for before, after in self.near
        ]
        return rows, near, place


def train(clips: Clips, seed: int) -> Network:
    """One network on STEPS batches of about ROWS rows."""
    torch.manual_seed(seed)
    network = Network(clips.features.shape[1], UNITS).to(DEVICE)
    optimiser = torch.optim.AdamW(network.parameters(), lr=RATE, weight_decay=DECAY)
    count = max(1, ROWS * len(clips.lengths) // len(clips.features))
    every, order = torch.arange(len(clips.lengths)), torch.empty(0, dtype=torch.int64)
    for step in range(STEPS):
        for group in optimiser.param_groups:
            group["lr"] = RATE * _pace(step / STEPS)
        if step == round(RENDERED_ONLY * STEPS):
            every, order = clips.rendered, order[:0]
        if len(order) < count:
            order = every[torch.randperm(len(every))]
        some, order = order[:count], order[count:]
        rows, near, place = clips.batch(some)
        values = clips.features[rows].float()
        values = values + NOISE * torch.randn_like(values)
        values = values + CLIP_NOISE * torch.randn(len(some), values.shape[1])[place]
        loss = loss_of(network(values, near), *(known[rows] for known in clips.known))
        optimiser.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(network.parameters(), 1.0)
        optimiser.step()
        if step % 200 == 0:
            print(f"seed {seed}, step {step}/{STEPS}: {float(loss.detach()):.3f}", flush=True)
    return network.eval()


def _blocks(values: NDArray[np.float16]) -> list[NDArray[np.float16]]:
    return np.array_split(values, 1 + len(values) // 1_000_000)


def _pace(share: float) -> float:
    """Share of the full rate: up quickly, then down along half a cosine."""
    if share < WARM_UP:
        return share / WARM_UP
    return 0.5 * (1 + math.cos(math.pi * (share - WARM_UP) / (1 - WARM_UP)))


def scales(clips: Clips, networks: list[Network]) -> list[float]:
    """Factor of each predicted error size that makes it a standard uncertainty, of arms in view."""
    ratios, kept = [], []
    with torch.no_grad():
        for some in torch.arange(len(clips.lengths)).split(128):
            rows, near, _ = clips.batch(some)
            values = clips.features[rows].float()
            outputs = torch.stack([network(values, near) for network in networks]).mean(0)
            found, weight = errors(outputs, *(known[rows] for known in clips.known))
            ratios.append((found.abs() / sizes(outputs)).cpu().numpy())
            kept.append(((weight > 0) & clips.seen[rows][:, None]).cpu().numpy())
    ratio, known = np.concatenate(ratios), np.concatenate(kept)
    return [float(np.quantile(ratio[known[:, k], k], COVERED) / 2) for k in range(len(OUTPUTS))]


def _unfamiliarity(rows: Rows, mean: Tensor, spread: Tensor) -> float:
    z = np.abs((rows.features - mean.numpy()) / spread.numpy())
    return float(np.quantile(np.percentile(z, 95, axis=1), TRUSTED_SHARE))


def write(
    out: Path, networks: list[Network], mean: Tensor, spread: Tensor, about: dict[str, object]
) -> None:
    """The weights, each row in whole steps of a 127th of its largest, and what belongs to them."""
    arrays = {"mean": mean.numpy().astype(np.float16), "spread": spread.numpy().astype(np.float16)}
    for k, network in enumerate(networks):
        for i, layer in enumerate(network.layers()):
            weight, bias = (v.detach().cpu().numpy() for v in (layer.weight, layer.bias))
            step = (np.abs(weight).max(axis=1) / 127).astype(np.float32)
            arrays[f"{k}_{i}_weight"] = np.round(weight / step[:, None]).astype(np.int8)
            arrays[f"{k}_{i}_step"] = step
            arrays[f"{k}_{i}_bias"] = bias.astype(np.float16)
    np.savez_compressed(out / "learned.npz", **arrays)
    (out / "learned.json").write_text(json.dumps(about, indent=1) + "\n", "utf-8")


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--bodies", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--workers", type=int, default=1)
    arguments = parser.parse_args()
    torch.set_default_device(DEVICE)
    near = {"bodies": arguments.bodies, "copies": COPIES, "workers": arguments.workers}
    rows = rows_of(arguments.data, *FITTED, **near)
    held_out = [rows_of(arguments.data, name) for name in SCALED_ON]
    made = rows.features[np.repeat(rows.rendered, rows.lengths)].astype(np.float32)
    mean = torch.from_numpy(made.mean(axis=0, dtype=np.float64).astype(np.float32))
    spread = torch.from_numpy(made.std(axis=0, dtype=np.float64).astype(np.float32) + 1e-3)
    fitted = Clips(rows, mean, spread)
    networks = [train(fitted, seed) for seed in SEEDS]
    trusted = max(_unfamiliarity(some, mean, spread) for some in held_out)
    scale = np.max([scales(Clips(some, mean, spread), networks) for some in held_out], axis=0)
    about = {
        "layout": VERSION,
        "nets": len(networks),
        "trusted": round(trusted, 3),
        "base_sd": dict(zip(OUTPUTS, BASE_SD, strict=True)),
        "scale": {name: round(float(s), 4) for name, s in zip(OUTPUTS, scale, strict=True)},
        "fitted_on": {"rows": len(rows.features), "arms_of_clips": len(rows.lengths)},
    }
    write(arguments.out, networks, mean, spread, about)


if __name__ == "__main__":
    main()
