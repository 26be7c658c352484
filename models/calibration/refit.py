"""Fit the shipped networks on: to clips that are altered anew each time they are shown.

    python -m models.calibration.refit --data DIR --out formcheck/measures/data

Begins with the weights of ``fit.py``, which ``formcheck`` ships, and shows them the sets ``free`` and
``wide``, altered (``altered.py``), so that they come to believe what they are shown rather than what
exercises mostly look like, and know better when the movement around a moment is missing. Scales the
uncertainties on ``tune``, ``trial`` and ``free-tune``. Run it once: on what it has written it would go
further the same way. A few minutes on a graphics processor.
"""

import argparse
import math
from collections.abc import Callable, Iterable
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

FITTED = {"free": 0.65, "wide": 0.35}
"""Sets that are fitted, and the share of the clips shown that is theirs."""
SCALED_ON = ("tune", "trial", "free-tune")
SEEDS = (1, 2)
RATE_HZ = 10.0
"""Pictures a second that are shown: fitting is many times faster if every clip has the same."""
STEPS = 3500
LEARNING_RATE, DECAY, WARM_UP = 1.5e-4, 5e-2, 0.05
HALF_WAY = 0.5
"""Share of the way from the shipped weights to those that come of it: people who do anything are then
read as well as with all of the way, and exercises as well as before."""
MANNER = Manner(depth=False, bias=False)
"""Depth flattened at random and landmarks a little off gained nothing beside the others."""
STOPPED_S = 5.0
"""How long a stop is looked at when uncertainties are scaled."""


@dataclass(frozen=True, slots=True)
class Look:
    """A part of a batch: so many clips, times of each, share that comes to a stop, weight in the loss."""

    clips: int
    count: int
    stops: float
    weight: float


LOOKS = (
    Look(256, 96, 0.38, 0.70),
    Look(384, 12, 0.0, 0.18),
    Look(3072, 1, 0.0, 0.12),
)
"""Movement and stops, short windows, and single pictures."""
MOVING = (Look(300, 96, 0.0, 1.0),)


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


def optimiser_of(parameters: Iterable[torch.nn.Parameter], rate: Tensor) -> torch.optim.AdamW:
    """What takes the steps, by a rate that can be changed on the device."""
    return torch.optim.AdamW(
        parameters, lr=rate, weight_decay=DECAY, fused=True, capturable=rate.is_cuda
    )


class Fit:
    """A network that is fitted on: every step shows it clips altered anew."""

    learning_rate = LEARNING_RATE

    def __init__(self, network: Network, clips: Material, often: Tensor, manner: Manner) -> None:
        """``often`` (k,): how often each clip is shown."""
        self.network, self.clips, self.manner = network.train(), clips, manner
        self.until = torch.cumsum(often / often.sum(), 0)
        self.standard = Standard()
        self.rate = torch.tensor(LEARNING_RATE)
        self.optimiser = optimiser_of(network.parameters(), self.rate)

    def step(self) -> Tensor:
        """One batch; its loss. Waits for nothing, so that the device can repeat it by itself."""
        loss = torch.zeros(())
        for look in LOOKS if self.manner.context else MOVING:
            loss = loss + look.weight * self._loss(look)
        self.optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(self.network.parameters(), 1.0)
        self.optimiser.step()
        return loss.detach()

    def _loss(self, look: Look) -> Tensor:
        clips = self.clips
        some = torch.searchsorted(self.until, torch.rand(look.clips)).clamp_max(len(self.until) - 1)
        index = moments(clips.lengths[some], look.count, look.stops)
        there = torch.full((look.clips,), look.count)
        shown = altered(clips.shown(some, torch.rand(look.clips) < 0.5, index, there), self.manner)
        longest = shown_elsewhere(shown) if self.manner.context else None
        features, upper, fore = features_of(shown.seen, longest)
        z = ((features - self.standard.mean) / self.standard.spread).clamp(-CLIP_Z, CLIP_Z)
        z = z + NOISE * torch.randn_like(z) + CLIP_NOISE * torch.randn(look.clips, 1, z.shape[2])
        told = z.isfinite().all(-1) & shown.truth[..., :6].isfinite().all(-1)
        told = told & clips.known[clips.starts[some][:, None] + index]
        with torch.autocast("cuda", torch.bfloat16, enabled=z.is_cuda, cache_enabled=False):
            outputs = self.network.over_time(z.nan_to_num(0.0), RATE_HZ)
        truth = shown.truth
        truth = torch.cat([truth[..., :6].nan_to_num(0.5), truth[..., 6:]], dim=-1)
        of_rows = (outputs.float(), upper.nan_to_num(0.5), fore.nan_to_num(0.5), truth, told)
        return loss_of(*(part.flatten(0, 1) for part in of_rows))

    def run(self, steps: int) -> Network:
        """All steps, on a graphics processor as one recorded graph."""
        repeated = self._recorded() if self.rate.is_cuda else self.step
        for step in range(steps):
            self.rate.fill_(self.learning_rate * pace(step / steps))
            loss = repeated()
            if step % 500 == 0:
                print(f"step {step}/{steps}: {float(loss):.3f}", flush=True)
        return self.network.eval()

    def _recorded(self) -> Callable[[], Tensor]:
        aside = torch.cuda.Stream()
        aside.wait_stream(torch.cuda.current_stream())
        self.rate.fill_(0.0)
        with torch.cuda.stream(aside):
            for _ in range(3):
                self.step()
        torch.cuda.current_stream().wait_stream(aside)
        graph = torch.cuda.CUDAGraph()
        self.optimiser.zero_grad(set_to_none=True)
        with torch.cuda.graph(graph):
            loss = self.step()

        def replay() -> Tensor:
            graph.replay()
            return loss

        return replay


def shown_elsewhere(shown: Shown) -> Tensor:
    """Upper arm and forearm (b, 2) in trunk lengths, as half of the clips showed them at other times."""
    pairs = ((RIGHT_SHOULDER, RIGHT_ELBOW), (RIGHT_ELBOW, RIGHT_WRIST))
    middles = [shown.places[:, :, k : k + 2].mean(dim=2) for k in (LEFT_SHOULDER, LEFT_HIP)]
    trunk_m = (middles[0] - middles[1]).norm(dim=-1)
    lengths = [
        (shown.places[:, :, b] - shown.places[:, :, a]).norm(dim=-1) / trunk_m for a, b in pairs
    ]
    most = torch.stack(lengths, dim=-1).median(dim=1).values
    clips = len(most)
    share = torch.empty(clips, 2).uniform_(0.75, 1.05) * (torch.rand(clips, 1) < 0.5)
    return most * share


def pace(share: float) -> float:
    """Share of the full rate: up quickly, then down along half a cosine."""
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
    device = "cuda" if torch.cuda.is_available() else "cpu"
    read = {
        name: material_of(arguments.data, name, arguments.workers) for name in (*FITTED, *SCALED_ON)
    }
    sets = [read[name].thinned(RATE_HZ) for name in FITTED]
    fitted, scaled_on = Material.joined(sets).to(device), [read[n].to(device) for n in SCALED_ON]
    shares = zip(FITTED.values(), sets, strict=True)
    torch.set_default_device(device)
    often = torch.cat([torch.full(s.lengths.shape, share / len(s.lengths)) for share, s in shares])
    networks = []
    for seed, shipped, network in zip(SEEDS, shipped_networks(), shipped_networks(), strict=True):
        torch.manual_seed(seed)
        networks.append(between(shipped, Fit(network, fitted, often, MANNER).run(STEPS)))
    finish(arguments.out, networks, scaled_on, len(fitted.image))


def between(shipped: Network, fitted: Network) -> Network:
    """The network whose weights lie HALF_WAY from one to the other."""
    with torch.no_grad():
        for there, here in zip(shipped.parameters(), fitted.parameters(), strict=True):
            there.lerp_(here, HALF_WAY)
    return shipped.eval()


def finish(out: Path, networks: list[Network], scaled_on: list[Material], rows: int) -> None:
    """Scale the uncertainties and write the weights.

    They are scaled on whole clips, as formcheck adds its own doubt where movement is missing, and no
    factor becomes smaller than it was.
    """
    found = {c: [found_of(clips, networks, c) for clips in scaled_on] for c in CONTEXTS}
    trusted = max(
        float(np.quantile(f.unfamiliar.cpu().numpy(), TRUSTED_SHARE))
        for some in found.values()
        for f in some
    )
    shipped = load_ensemble().scale
    scale = np.maximum(scale_of(found["whole"]), [shipped[name] for name in OUTPUTS])
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
