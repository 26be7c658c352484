"""Fit the shipped networks on with people who were never rendered: what was tried, and not kept.

    python -m models.calibration.emulated_fit --data DIR --out DIR

Half of what it learns from are emulated people (``emulated.py``), a quarter rendered clips that are altered
(``altered.py``); on the rest, rendered clips as they are, it is to answer as the shipped networks do
(learning without forgetting, Li & Hoiem 2016), so that what they know of exercises is kept. ``README.md``,
"People who were never rendered", says what came of it. Ten minutes on a graphics processor.
"""

import argparse
from pathlib import Path

import torch
from torch import Tensor

from formcheck.measures.network_layout import FOREARM
from formcheck.measures.networks import CLIP_Z
from models.calibration.altered import Shown, altered, moments
from models.calibration.decoding import corrected
from models.calibration.emulated import definition_of, emulated
from models.calibration.fit import CLIP_NOISE, NOISE
from models.calibration.material import Material, material_of
from models.calibration.network import Network, loss_of
from models.calibration.refit import (
    MANNER,
    RATE_HZ,
    Fit,
    Look,
    finish,
    optimiser_of,
    shipped_networks,
    shown_elsewhere,
)
from models.calibration.seen import features_of

TAUGHT = {"judge-2": (0.4, 0.5), "free": (0.6, 0.5)}
"""Sets that are shown: the share of the altered clips and of those as they are that is theirs."""
SCALED_ON = ("tune", "trial")
SEED, STEPS = 1, 3000
LEARNING_RATE = 3e-4
KEPT, ALTERED, EMULATED = "kept", "altered", "emulated"
LOOKS = (
    (KEPT, Look(112, 96, 0.05, 4.0)),
    (ALTERED, Look(112, 96, 0.38, 0.17)),
    (ALTERED, Look(192, 12, 0.0, 0.045)),
    (ALTERED, Look(1280, 1, 0.0, 0.035)),
    (EMULATED, Look(192, 96, 0.0, 0.33)),
    (EMULATED, Look(256, 12, 0.0, 0.09)),
    (EMULATED, Look(1536, 1, 0.0, 0.08)),
)
"""Movement and stops, short windows, and single pictures."""
EMULATED_NOISE = 0.05
"""Share of the noise that emulated clips get: they have errors of their own."""
_LOG_ERRORS_COST = 0.01
_REST = slice(FOREARM.stop, None)


class MixedFit(Fit):
    """Both shipped networks, fitted on at once to the same clips."""

    learning_rate = LEARNING_RATE

    def __init__(self, clips: Material, often: Tensor, kept: Tensor) -> None:
        """``often`` (k,): how often each clip is shown altered, ``kept`` (k,): as it is."""
        self.networks, self.teachers = shipped_networks(), shipped_networks()
        for network, teacher in zip(self.networks, self.teachers, strict=True):
            network.train()
            teacher.eval()
        super().__init__(self.networks[0], clips, often, MANNER)
        self.kept_until = torch.cumsum(kept / kept.sum(), 0)
        self.definition = definition_of(clips)
        parameters = [one for network in self.networks for one in network.parameters()]
        self.optimiser = optimiser_of(parameters, self.rate)

    def step(self) -> Tensor:
        """One batch; its loss."""
        loss = torch.zeros(())
        for source, look in LOOKS:
            loss = loss + look.weight * self.loss_from(source, look)
        self.optimiser.zero_grad(set_to_none=True)
        loss.backward()
        for network in self.networks:
            torch.nn.utils.clip_grad_norm_(network.parameters(), 1.0)
        self.optimiser.step()
        return loss.detach()

    def loss_from(self, source: str, look: Look) -> Tensor:
        """The loss of both networks on a part of a batch."""
        shown, known = self._shown(source, look)
        longest = None if source == KEPT else shown_elsewhere(shown)
        features, upper, fore = features_of(shown.seen, longest)
        z = ((features - self.standard.mean) / self.standard.spread).clamp(-CLIP_Z, CLIP_Z)
        told = z.isfinite().all(-1) & shown.truth[..., :6].isfinite().all(-1) & known
        z = z.nan_to_num(0.0)
        truth = torch.cat([shown.truth[..., :6].nan_to_num(0.5), shown.truth[..., 6:]], dim=-1)
        rest = [v.flatten(0, 1) for v in (upper.nan_to_num(0.5), fore.nan_to_num(0.5), truth, told)]
        noise = EMULATED_NOISE if source == EMULATED else 1.0
        loss = torch.zeros(())
        for network, teacher in zip(self.networks, self.teachers, strict=True):
            outputs = _outputs(network, z + noise * _noise_like(z))
            if source == KEPT:
                with torch.no_grad():
                    taught = _outputs(teacher, z)
                loss = loss + otherwise(outputs, taught, rest[0], rest[1], rest[3])
            else:
                loss = loss + loss_of(outputs, *rest)
        return loss

    def _shown(self, source: str, look: Look) -> tuple[Shown, Tensor]:
        """Clips of a part of a batch, and which of their times (b, t) somebody was found at."""
        clips, until = self.clips, self.kept_until if source == KEPT else self.until
        some = torch.searchsorted(until, torch.rand(look.clips)).clamp_max(len(until) - 1)
        index = moments(clips.lengths[some], look.count, look.stops)
        there = torch.full((look.clips,), look.count)
        shown = clips.shown(some, torch.rand(look.clips) < 0.5, index, there)
        known = clips.known[clips.starts[some][:, None] + index]
        if source == EMULATED:
            return emulated(shown, self.definition, RATE_HZ), torch.ones_like(known)
        return (altered(shown, self.manner) if source == ALTERED else shown), known

    def run_both(self, steps: int) -> list[Network]:
        """All steps."""
        self.run(steps)
        return [network.eval() for network in self.networks]


def otherwise(outputs: Tensor, taught: Tensor, upper: Tensor, fore: Tensor, told: Tensor) -> Tensor:
    """How far what outputs (n, COLUMNS) say is from what a teacher's say, where ``told`` (n,)."""
    both = zip(*(corrected(torch, some, upper, fore) for some in (outputs, taught)), strict=True)
    ours, theirs = outputs[:, _REST], taught[:, _REST]
    rest = torch.nn.functional.smooth_l1_loss(ours, theirs, reduction="none").sum(-1)
    each = _LOG_ERRORS_COST * rest
    for a, b in both:
        each = each + (a - b).pow(2).sum(-1)
    return torch.where(told, each, 0.0).sum() / told.sum().clamp_min(1)


def _outputs(network: Network, z: Tensor) -> Tensor:
    with torch.autocast("cuda", torch.bfloat16, enabled=z.is_cuda, cache_enabled=False):
        outputs = network.over_time(z, RATE_HZ)
    return outputs.float().flatten(0, 1)


def _noise_like(z: Tensor) -> Tensor:
    return NOISE * torch.randn_like(z) + CLIP_NOISE * torch.randn(len(z), 1, z.shape[2])


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--workers", type=int, default=1)
    arguments = parser.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    read = {n: material_of(arguments.data, n, arguments.workers) for n in (*TAUGHT, *SCALED_ON)}
    sets = [read[name].thinned(RATE_HZ) for name in TAUGHT]
    fitted, scaled_on = Material.joined(sets).to(device), [read[n].to(device) for n in SCALED_ON]
    torch.set_default_device(device)
    often, kept = (
        torch.cat(
            [
                torch.full(part.lengths.shape, shares[k] / len(part.lengths))
                for part, shares in zip(sets, TAUGHT.values(), strict=True)
            ]
        )
        for k in (0, 1)
    )
    torch.manual_seed(SEED)
    networks = MixedFit(fitted, often, kept).run_both(STEPS)
    finish(arguments.out, networks, scaled_on, len(fitted.image))


if __name__ == "__main__":
    main()
