"""The ensemble of fitted networks of the learned estimate, run by numpy over the times of a clip.

Each starts from what is seen at one time and then, step by step, looks at times before and after it:
a tenth of a second away at first, seconds away at last. So a moment that says little, a forearm that
points at the camera, is read from the movement that leads there and away.
"""

import json
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np

from formcheck.catalogue.arrays import FloatArray, IntArray, SingleArray
from formcheck.measures.network_layout import VERSION

SHIFTS_S = (0.1, 0.2, 0.4, 0.8, 1.6, 2.4)
"""How far before and after each context layer looks, seconds. Read on rendered people."""
CLIP_Z = 6.0
"""Standardised features are cut off here, so that the networks never extrapolate far. A proposal."""
NOVELTY_PERCENTILE = 95.0
"""One odd feature is no reason for doubt, a twentieth of them is. A proposal."""
_REACH_S = 2 * sum(SHIFTS_S)
"""No answer depends on times further away: the time nearest to a shifted one is at most as far from
it as the shift is long. Mechanical."""
_BLOCK = 2048
"""Times that go through the networks together: a long clip's at once take hundreds of megabytes.
Mechanical."""

Layer = tuple[SingleArray, SingleArray]


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """Weights and biases: ``first``, one of ``context`` for each of SHIFTS_S, ``last``, ``output``."""

    first: Layer
    context: tuple[Layer, ...]
    last: Layer
    output: Layer

    def __call__(self, values: SingleArray, nearby: list[tuple[IntArray, IntArray]]) -> SingleArray:
        """Outputs (n, m) of standardised features (n, f); ``nearby``: see ``neighbours``."""
        values = _silu(_linear(self.first, values))
        for layer, (before, after) in zip(self.context, nearby, strict=True):
            around = np.concatenate([values, values[before], values[after]], axis=1)
            values = values + _silu(_linear(layer, around))
        return _linear(self.output, _silu(_linear(self.last, values)))


@dataclass(frozen=True, slots=True, eq=False)
class Ensemble:
    """The networks, how their inputs are standardised, and what scales their predicted errors.

    ``trusted`` is the size of standardised features that the fitting data hardly ever pass.
    """

    networks: tuple[Network, ...]
    mean: SingleArray
    spread: SingleArray
    base_sd: dict[str, float]
    scale: dict[str, float]
    trusted: float

    def __call__(self, features: SingleArray, time_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Outputs (k, n, m) of the k networks for rows of features (n, f) at increasing times, and
        the novelty of each row (n,): how unlike the fitting data it is, 1 being the edge of what is
        trusted.
        """
        width = len(self.networks[0].output[1])
        outputs = np.zeros((len(self.networks), len(time_s), width))
        novelty = np.zeros(len(time_s))
        for start in range(0, len(time_s), _BLOCK):
            stop = min(start + _BLOCK, len(time_s))
            low = int(np.searchsorted(time_s, time_s[start] - _REACH_S))
            high = int(np.searchsorted(time_s, time_s[stop - 1] + _REACH_S, side="right"))
            z = (features[low:high] - self.mean) / self.spread
            own = slice(start - low, stop - low)
            unusual = np.percentile(np.abs(z[own]), NOVELTY_PERCENTILE, axis=1)
            novelty[start:stop] = unusual / self.trusted
            z, nearby = np.clip(z, -CLIP_Z, CLIP_Z), neighbours(time_s[low:high])
            for network, read in zip(self.networks, outputs, strict=True):
                read[start:stop] = network(z, nearby)[own]
        return outputs, novelty


def neighbours(time_s: FloatArray) -> list[tuple[IntArray, IntArray]]:
    """For each of SHIFTS_S the rows (n,), (n,) nearest in time to that long before and after."""
    return [
        (_nearest(time_s, time_s - shift), _nearest(time_s, time_s + shift)) for shift in SHIFTS_S
    ]


@cache
def load_ensemble() -> Ensemble:
    """The networks that travel with formcheck.

    Raises ValueError if they were fitted to another layout of their outputs.
    """
    folder = files("formcheck.measures") / "data"
    about = json.loads((folder / "learned.json").read_text("utf-8"))
    if about.get("layout") != VERSION:
        raise ValueError(
            f"learned.json: these weights are of layout {about.get('layout')}, and this is layout "
            f"{VERSION} (formcheck/measures/network_layout.py); fit them again with "
            "python -m models.calibration.fit"
        )
    with (folder / "learned.npz").open("rb") as file, np.load(file, allow_pickle=False) as stored:
        arrays = {name: stored[name].astype(np.float32) for name in stored.files}

    def layer(name: str) -> Layer:
        # Stored as 8-bit steps: a quarter of the size, and no figure changes by a fiftieth of a degree.
        return arrays[f"{name}_weight"] * arrays[f"{name}_step"][:, None], arrays[f"{name}_bias"]

    def network(k: int) -> Network:
        layers = [layer(f"{k}_{i}") for i in range(len(SHIFTS_S) + 3)]
        return Network(layers[0], tuple(layers[1:-2]), layers[-2], layers[-1])

    return Ensemble(
        networks=tuple(network(k) for k in range(about["nets"])),
        mean=arrays["mean"],
        spread=arrays["spread"],
        base_sd=about["base_sd"],
        scale=about["scale"],
        trusted=float(about["trusted"]),
    )


def _nearest(time_s: FloatArray, wanted_s: FloatArray) -> IntArray:
    after = np.clip(np.searchsorted(time_s, wanted_s), 0, len(time_s) - 1)
    before = np.maximum(after - 1, 0)
    earlier = wanted_s - time_s[before] <= time_s[after] - wanted_s
    return np.where(earlier, before, after)


def _linear(layer: Layer, values: SingleArray) -> SingleArray:
    weight, bias = layer
    return values @ weight.T + bias


def _silu(values: SingleArray) -> SingleArray:
    """The sigmoid-weighted linear unit, x / (1 + exp(-x)), in a form that cannot overflow."""
    return np.asarray(0.5 * values * (1 + np.tanh(0.5 * values)))
