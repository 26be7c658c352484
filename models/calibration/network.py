"""The network of the learned estimate and its loss, in torch; formcheck runs the same in numpy."""

from collections.abc import Callable

import torch
from torch import Tensor, nn

from formcheck.measures.network_layout import (
    COLUMNS,
    FOREARM,
    LOG_ERROR_LIMIT,
    LOG_ERRORS,
    OUTPUTS,
    SCALARS,
    UPPER_ARM,
)
from formcheck.measures.networks import SHIFTS_S
from models.calibration.decoding import corrected, decoded, true_values
from models.calibration.seen import constant

BASE_SD = (8.0, 6.0, 10.0, 15.0, 6.0, 1.5, 2.0, 3.0, 5.0, 6.0, 5.0, 3.0)
"""Where each predicted error begins; degrees, or percent of trunk length."""
WEIGHTS = (1.5, 1.2, 1.6, 1.4, 1.0, 2.0, 0.5, 1.0, 1.0, 0.7, 0.5, 0.5)
"""What an error of BASE_SD of each output costs; plane and rotation, the hardest to see, most."""
RARE = {"trunk_lean_side": 5.0, "trunk_lean_forward": 6.0, "trunk_turn": 6.0}
"""What is near zero most of the time, and the degrees at which it counts double.
Without that the network would hardly ever risk another answer than zero."""
MOST = 4.0
DROPOUT = 0.15
_ELBOW, _ELEVATION, _PLANE, _ROTATION = (
    OUTPUTS.index(name)
    for name in ("elbow_flexion", "shoulder_elevation", "plane_of_elevation", "axial_rotation")
)

Near = list[tuple[Tensor, Tensor]]


class Network(nn.Module):
    """Features in; two direction changes, the vertical, five scalars and log errors out."""

    def __init__(self, features: int, units: int) -> None:
        super().__init__()
        self.first = nn.Linear(features, units)
        self.looks = nn.ModuleList(nn.Linear(3 * units, units) for _ in SHIFTS_S)
        self.last = nn.Linear(units, units // 2)
        self.output = nn.Linear(units // 2, COLUMNS)
        self.drop = nn.Dropout(DROPOUT)
        nn.init.zeros_(self.output.weight)
        nn.init.zeros_(self.output.bias)

    def layers(self) -> list[nn.Module]:
        """In the order in which they are stored."""
        return [self.first, *self.looks, self.last, self.output]

    def forward(self, values: Tensor, near: Near) -> Tensor:
        """Outputs (n, COLUMNS) of standardised features (n, f); ``near``: the rows before
        and after each row that each step looks at.
        """
        return self._run(values, lambda v, k: [v.index_select(0, rows) for rows in near[k]])

    def over_time(self, values: Tensor, rate_hz: float) -> Tensor:
        """Outputs (b, t, COLUMNS) of clips (b, t, f) that are all there, with this many times a second.

        The same as ``forward``, but its gradient needs no scattering, which is many times slower.
        """
        steps = [round(shift_s * rate_hz) for shift_s in SHIFTS_S]
        return self._run(values, lambda v, k: [_earlier(v, steps[k]), _later(v, steps[k])])

    def _run(self, values: Tensor, beside: Callable[[Tensor, int], list[Tensor]]) -> Tensor:
        silu = nn.functional.silu
        values = self.drop(silu(self.first(values)))
        for k, look in enumerate(self.looks):
            around = torch.cat([values, *beside(values, k)], dim=-1)
            values = values + self.drop(silu(look(around)))
        return self.output(silu(self.last(values)))


def _earlier(values: Tensor, steps: int) -> Tensor:
    """Values (b, t, u) so many times before, or the first."""
    steps = min(steps, values.shape[1] - 1)
    first = values[:, :1].expand(-1, steps, -1)
    return torch.cat([first, values[:, : values.shape[1] - steps]], dim=1)


def _later(values: Tensor, steps: int) -> Tensor:
    steps = min(steps, values.shape[1] - 1)
    return torch.cat([values[:, steps:], values[:, -1:].expand(-1, steps, -1)], dim=1)


def errors(outputs: Tensor, upper: Tensor, fore: Tensor, truth: Tensor) -> tuple[Tensor, Tensor]:
    """Error of each output (n, len(OUTPUTS)) and the weight it has there (0 where undefined).

    The plane of elevation counts across the arm, so that it weighs little near the poles.
    """
    true = true_values(torch, truth)
    true_elbow, true_elevation = true[:, _ELBOW], true[:, _ELEVATION]
    found = list((decoded(torch, outputs, upper, fore) - true).unbind(1))
    across = torch.sin(torch.deg2rad(true_elevation)).clamp_min(0.05)
    found[_PLANE] = _wrapped(found[_PLANE]) * across
    found[_ROTATION] = _wrapped(found[_ROTATION])
    error = torch.stack(found, dim=1)
    weight = torch.isfinite(error).float()
    weight[:, _PLANE] *= ((true_elevation > 20) & (true_elevation < 160)).float()
    weight[:, _ROTATION] *= ((true_elbow > 25) & (true_elbow < 165)).float()
    return torch.nan_to_num(error), weight


def loss_of(
    outputs: Tensor, upper: Tensor, fore: Tensor, truth: Tensor, told: Tensor | None = None
) -> Tensor:
    """Laplace likelihood of every error under its own predicted size, and the directions' squares.

    Of the rows that are ``told`` (n,), whose arm's directions are known; of all by default.

    Each error counts by its predicted size, or those of hard situations, where the size is large,
    would hardly be learned (Seitzer et al. 2022, "On the Pitfalls of Heteroscedastic Uncertainty
    Estimation", with beta 1).
    """
    found, weight = errors(outputs, upper, fore, truth)
    for name, double_deg in RARE.items():
        amount = torch.nan_to_num(truth[:, SCALARS[name].column]).abs() / double_deg
        weight[:, OUTPUTS.index(name)] *= (1 + amount).clamp(max=MOST)
    size = sizes(outputs)
    weight = weight * constant(WEIGHTS) * size.detach() / constant(BASE_SD)
    likelihood = (torch.log(size) + found.abs() / size) * weight
    u, f = corrected(torch, outputs, upper, fore)
    directions = (u - truth[:, UPPER_ARM]).pow(2).sum(1) + (f - truth[:, FOREARM]).pow(2).sum(1)
    if told is None:
        return likelihood.mean() + 0.5 * directions.mean()
    each = torch.where(told, likelihood.mean(dim=1) + 0.5 * directions, 0.0)
    return each.sum() / told.sum().clamp_min(1)


def sizes(outputs: Tensor) -> Tensor:
    """Predicted mean size of each error (n, len(OUTPUTS))."""
    return torch.exp(outputs[:, LOG_ERRORS].clamp(-LOG_ERROR_LIMIT, LOG_ERROR_LIMIT)) * constant(
        BASE_SD
    )


def _wrapped(degrees: Tensor) -> Tensor:
    return (degrees + 180) % 360 - 180
