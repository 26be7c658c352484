"""Fit the shipped networks on: to clips that are altered anew each time they are shown.

    python -m models.calibration.refit --data DIR --out formcheck/measures/data

Begins with the weights that ``formcheck`` ships and shows them the set ``free``, altered (``altered.py``),
so that they come to believe what they are shown rather than what exercises mostly look like, and know by
themselves when the movement around a moment is missing. Scales the uncertainties on ``tune``, ``trial``
and ``free-tune``, of whole clips, single pictures and stops.
"""

import argparse
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from formcheck.measures.network_layout import OUTPUTS, VERSION
from formcheck.measures.networks import CLIP_Z, load_ensemble
from models.calibration.altered import Manner, Shown, altered, moments
from models.calibration.fit import CLIP_NOISE, COVERED, NOISE, TRUSTED_SHARE, write
from models.calibration.material import Material, material_of
from models.calibration.network import BASE_SD, Near, Network, errors, loss_of, sizes
from models.calibration.seen import (
    LEFT_HIP,
    LEFT_SHOULDER,
    RIGHT_ELBOW,
    RIGHT_SHOULDER,
    RIGHT_WRIST,
    features_of,
    neighbours_of,
)

FITTED, SCALED_ON = "free", ("tune", "trial", "free-tune")
SEEDS = (1, 2)
STEPS, CLIPS, TIMES = 6000, 400, 128
"""Batches, clips in each, and times shown of a clip at most."""
RATE, DECAY, WARM_UP = 6e-4, 5e-2, 0.05
STOPPED_S = 5.0
"""How long a stop is looked at when uncertainties are scaled."""


@dataclass(slots=True)
class Rows:
    """The known times of a batch, one after the other, as ``Network`` and ``loss_of`` want them."""

    values: Tensor
    near: Near
    upper: Tensor
    fore: Tensor
    truth: Tensor
    clip: Tensor


class Standard:
    """How features are standardised: as the shipped networks' are."""

    def __init__(self) -> None:
        shipped = load_ensemble()
        self.mean = torch.from_numpy(shipped.mean).to(torch.get_default_device())
        self.spread = torch.from_numpy(shipped.spread).to(torch.get_default_device())

    def rows_of(self, shown: Shown, known: Tensor, longest: Tensor | None = None) -> Rows:
        """The times of a batch that are there and known (b, t)."""
        features, upper, fore = features_of(shown.seen, longest)
        kept = shown.seen.there & features.isfinite().all(-1)
        place = (torch.cumsum(kept.flatten(), 0) - 1).view(kept.shape).clamp_min(0)
        near = [
            tuple(place.gather(1, at)[kept] for at in looks) for looks in neighbours_of(shown.seen)
        ]
        z = (features[kept] - self.mean) / self.spread
        clip = torch.arange(len(kept))[:, None].expand_as(kept)[kept]
        truth = torch.where(known[..., None], shown.truth, torch.nan)[kept]
        return Rows(z, near, upper[kept], fore[kept], truth, clip)


def shipped_networks() -> list[Network]:
    """The networks that travel with formcheck, to be fitted on."""
    networks = []
    for stored in load_ensemble().networks:
        network = Network(stored.first[0].shape[1], stored.first[0].shape[0])
        layers = (stored.first, *stored.context, stored.last, stored.output)
        with torch.no_grad():
            for layer, (weight, bias) in zip(network.layers(), layers, strict=True):
                layer.weight.copy_(torch.from_numpy(weight))
                layer.bias.copy_(torch.from_numpy(bias))
        networks.append(network)
    return networks


def refit(network: Network, clips: Material, manner: Manner, seed: int) -> Network:
    """One network fitted on, on STEPS batches."""
    torch.manual_seed(seed)
    standard = Standard()
    optimiser = torch.optim.AdamW(network.parameters(), lr=RATE, weight_decay=DECAY)
    often = torch.where(clips.rate_hz > 20, 2.0, 1.0)
    network.train()
    for step in range(STEPS):
        for group in optimiser.param_groups:
            group["lr"] = RATE * _pace(step / STEPS)
        shown, known = _batch(clips, often, manner)
        rows = standard.rows_of(shown, known, _shown_elsewhere(shown) if manner.context else None)
        values = rows.values.clamp(-CLIP_Z, CLIP_Z)
        values = values + NOISE * torch.randn_like(values)
        values = values + CLIP_NOISE * torch.randn(CLIPS, values.shape[1])[rows.clip]
        with torch.autocast("cuda", torch.bfloat16, enabled=values.is_cuda):
            outputs = network(values, rows.near)
        told = rows.truth[:, :6].isfinite().all(dim=1)
        told_of = (part[told] for part in (rows.upper, rows.fore, rows.truth))
        loss = loss_of(outputs.float()[told], *told_of)
        optimiser.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(network.parameters(), 1.0)
        optimiser.step()
        if step % 200 == 0:
            print(f"seed {seed}, step {step}/{STEPS}: {float(loss.detach()):.3f}", flush=True)
    return network.eval()


def _batch(clips: Material, often: Tensor, manner: Manner) -> tuple[Shown, Tensor]:
    some = torch.multinomial(often, CLIPS, replacement=True)
    # Half of those that were read at 30 times a second are shown at 10.
    every = torch.where((clips.rate_hz[some] > 20) & (torch.rand(CLIPS) < 0.5), 3, 1)
    lengths = (clips.lengths[some] - 1) // every + 1
    index, there = moments(lengths, clips.rate_hz[some] / every, TIMES, manner)
    index = index * every[:, None]
    shown = clips.shown(some, torch.rand(CLIPS) < 0.5, index, there)
    shown.seen.rate_hz = shown.seen.rate_hz / every
    known = clips.known[clips.starts[some][:, None] + index]
    return altered(shown, manner), known


def _shown_elsewhere(shown: Shown) -> Tensor:
    """Upper arm and forearm (b, 2) in trunk lengths, as half of the clips showed them at other times."""
    pairs = ((RIGHT_SHOULDER, RIGHT_ELBOW), (RIGHT_ELBOW, RIGHT_WRIST))
    middles = [shown.places[:, :, [k, k + 1]].mean(dim=2) for k in (LEFT_SHOULDER, LEFT_HIP)]
    trunk_m = (middles[0] - middles[1]).norm(dim=-1)
    lengths = [
        (shown.places[:, :, b] - shown.places[:, :, a]).norm(dim=-1) / trunk_m for a, b in pairs
    ]
    most = torch.stack(lengths, dim=-1).median(dim=1).values
    share = torch.empty(CLIPS, 2).uniform_(0.75, 1.05) * (torch.rand(CLIPS, 1) < 0.5)
    return most * share


def _pace(share: float) -> float:
    if share < WARM_UP:
        return share / WARM_UP
    return 0.5 * (1 + math.cos(math.pi * (share - WARM_UP) / (1 - WARM_UP)))


@dataclass(slots=True)
class Found:
    """Errors and predicted sizes (m, len(OUTPUTS)), where they count, and unfamiliarity (m,)."""

    error: Tensor
    size: Tensor
    counts: Tensor
    unfamiliar: Tensor


def found_of(clips: Material, networks: list[Network], context: str) -> Found:
    """Both arms of all clips, seen "whole", as "single" pictures, or "stopped" for STOPPED_S."""
    standard, parts = Standard(), []
    generator = torch.Generator(torch.get_default_device()).manual_seed(5)
    every = torch.arange(len(clips.lengths)).repeat(1 if context == "whole" else _PICTURES)
    for some in every.split(64):
        lengths = clips.lengths[some]
        at = (torch.rand(len(some), generator=generator) * lengths).long()
        if context == "whole":
            index, there = torch.arange(int(lengths.max())).expand(len(some), -1), lengths
        elif context == "single":
            index, there = at[:, None], torch.ones_like(lengths)
        else:
            there = at + 1 + (STOPPED_S * clips.rate_hz[some]).long()
            index = torch.minimum(torch.arange(int(there.max())), at[:, None])
        index = torch.minimum(index, lengths[:, None] - 1)
        rows_at = clips.starts[some][:, None] + index
        for side in (0, 1):
            left = torch.full((len(some),), side == 0)
            shown = clips.shown(some, left, index, there)
            rows = standard.rows_of(shown, clips.known[rows_at] & clips.in_view[rows_at, side])
            if context == "stopped":
                last = torch.zeros(len(rows.clip), dtype=torch.bool)
                ends = torch.cumsum(torch.bincount(rows.clip, minlength=len(some)), 0) - 1
                last[ends[ends >= 0]] = True
            else:
                last = torch.ones(len(rows.clip), dtype=torch.bool)
            with torch.no_grad():
                z = rows.values.clamp(-CLIP_Z, CLIP_Z)
                outputs = torch.stack([network(z, rows.near) for network in networks]).mean(0)
            error, weight = errors(outputs, rows.upper, rows.fore, rows.truth)
            known = (weight > 0) & rows.truth[:, :1].isfinite()
            unfamiliar = rows.values.abs().quantile(0.95, dim=1)
            part = (error, sizes(outputs), known, unfamiliar)
            parts.append(tuple(column[last] for column in part))
    return Found(*(torch.cat(column) for column in zip(*parts, strict=True)))


_PICTURES = 4
"""How many single pictures, and stops, are looked at of each clip."""
CONTEXTS = ("whole", "single", "stopped")


def scale_of(found: list[Found]) -> list[float]:
    """Factor of each predicted size that makes it a standard uncertainty, each set weighing the same."""
    ratio = np.concatenate([_thousands((f.error.abs() / f.size).cpu().numpy()) for f in found])
    counts = np.concatenate([_thousands(f.counts.cpu().numpy()) for f in found])
    return [float(np.quantile(ratio[counts[:, k], k], COVERED) / 2) for k in range(len(OUTPUTS))]


def _thousands(rows: NDArray[Any]) -> NDArray[Any]:
    return rows[np.random.default_rng(3).integers(len(rows), size=4000)]


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--workers", type=int, default=1)
    arguments = parser.parse_args()
    names = (FITTED, *SCALED_ON)
    read = [material_of(arguments.data, name, arguments.workers) for name in names]
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.set_default_device(device)
    for clips in read:
        for name in clips.__slots__:
            setattr(clips, name, getattr(clips, name).to(device))
    networks = [
        refit(network, read[0], Manner(), seed)
        for network, seed in zip(shipped_networks(), SEEDS, strict=True)
    ]
    finish(arguments.out, networks, read[1:], len(read[0].image))


def finish(out: Path, networks: list[Network], scaled_on: list[Material], rows: int) -> None:
    """Scale the uncertainties and write the weights."""
    found = [[found_of(clips, networks, context) for clips in scaled_on] for context in CONTEXTS]
    scale = np.max([scale_of(some) for some in found], axis=0)
    trusted = max(
        float(np.quantile(f.unfamiliar.cpu().numpy(), TRUSTED_SHARE))
        for some in found
        for f in some
    )
    standard = Standard()
    about: dict[str, object] = {
        "layout": VERSION,
        "nets": len(networks),
        "trusted": round(trusted, 3),
        "base_sd": dict(zip(OUTPUTS, BASE_SD, strict=True)),
        "scale": {name: round(float(s), 4) for name, s in zip(OUTPUTS, scale, strict=True)},
        "fitted_on": {"rows": rows},
    }
    write(out, networks, standard.mean.cpu(), standard.spread.cpu(), about)


if __name__ == "__main__":
    main()
