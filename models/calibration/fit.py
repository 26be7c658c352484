"""Fit the learned estimate and write its weights.

    python -m models.calibration.fit --data DIR --out formcheck/measures/data

Fits an ensemble to the set ``fit`` and scales the uncertainties on the set ``tune`` (other bodies),
so that the truth lies within two of them in a share COVERED of all times. The set ``judge``
is never looked at here. Needs the extra ``calibration`` (torch).
"""

import argparse
import json
from pathlib import Path

import numpy as np
import torch
from torch import Tensor

from formcheck.measures.learned import CLIP_Z, OUTPUTS
from models.calibration.dataset import Rows, rows_of
from models.calibration.network import BASE_SD, Network, errors, loss_of, sizes

SEEDS = (1, 2)
ROWS, BATCH, RATE, DECAY, NOISE = 7_000_000, 4096, 2e-3, 1e-2, 0.1
COVERED = 0.95
TRUSTED_SHARE = 0.995
"""Share of the held-out bodies' times whose unfamiliarity counts as familiar."""


def tensors(rows: Rows) -> list[Tensor]:
    """Features, raw directions and truth as tensors."""
    return [torch.from_numpy(a) for a in (rows.features, rows.upper, rows.fore, rows.truth)]


def standardised(features: Tensor, mean: Tensor, spread: Tensor) -> Tensor:
    """Features as the network sees them."""
    return ((features - mean) / spread).clamp(-CLIP_Z, CLIP_Z)


def train(rows: Rows, mean: Tensor, spread: Tensor, seed: int) -> Network:
    """One network, from one seed, on ROWS rows drawn at random."""
    torch.manual_seed(seed)
    features, upper, fore, truth = tensors(rows)
    features = standardised(features, mean, spread)
    network = Network(features.shape[1])
    optimiser = torch.optim.AdamW(network.parameters(), lr=RATE, weight_decay=DECAY)
    steps = ROWS // BATCH
    schedule = torch.optim.lr_scheduler.OneCycleLR(
        optimiser, RATE, total_steps=steps + 2, pct_start=0.1
    )
    for step in range(1, steps + 1):
        batch = torch.randint(len(features), (BATCH,))
        values = features[batch]
        values = values + NOISE * torch.randn_like(values)
        loss = loss_of(network(values), upper[batch], fore[batch], truth[batch])
        optimiser.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(network.parameters(), 1.0)
        optimiser.step()
        schedule.step()
        if step % 200 == 0:
            print(f"seed {seed} step {step}/{steps}: {float(loss):.3f}", flush=True)
    return network.eval()


def scales(rows: Rows, networks: list[Network], mean: Tensor, spread: Tensor) -> list[float]:
    """Factor of each predicted error size that makes it a standard uncertainty."""
    features, upper, fore, truth = tensors(rows)
    with torch.no_grad():
        z = standardised(features, mean, spread)
        outputs = torch.stack([network(z) for network in networks]).mean(0)
        found, weight = errors(outputs, upper, fore, truth)
        ratio = (found.abs() / sizes(outputs)).numpy()
    kept = weight.numpy() > 0
    return [float(np.quantile(ratio[kept[:, k], k], COVERED) / 2) for k in range(len(OUTPUTS))]


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    arguments = parser.parse_args()
    rows, tune = rows_of(arguments.data, "fit"), rows_of(arguments.data, "tune")
    mean = torch.from_numpy(rows.features.mean(axis=0))
    spread = torch.from_numpy(rows.features.std(axis=0) + 1e-3)
    networks = [train(rows, mean, spread, seed) for seed in SEEDS]
    z = np.abs((tune.features - mean.numpy()) / spread.numpy())
    trusted = float(np.quantile(np.percentile(z, 95, axis=1), TRUSTED_SHARE))
    scale = scales(tune, networks, mean, spread)
    arrays = {"mean": mean.numpy(), "spread": spread.numpy()}
    for k, network in enumerate(networks):
        for i, layer in enumerate(network.layers):
            arrays[f"{k}_{i}_weight"] = layer.weight.detach().numpy()
            arrays[f"{k}_{i}_bias"] = layer.bias.detach().numpy()
    np.savez_compressed(
        arguments.out / "learned.npz", **{k: v.astype(np.float16) for k, v in arrays.items()}
    )
    about = {
        "nets": len(networks),
        "trusted": round(trusted, 3),
        "base_sd": dict(zip(OUTPUTS, BASE_SD, strict=True)),
        "scale": {name: round(s, 4) for name, s in zip(OUTPUTS, scale, strict=True)},
        "fitted_on": {"rows": len(rows.features), "clips": int(rows.clip.max()) + 1},
    }
    text = json.dumps(about, indent=1) + "\n"
    (arguments.out / "learned.json").write_text(text, "utf-8")


if __name__ == "__main__":
    main()
