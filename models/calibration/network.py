"""The network of the learned estimate and its loss, in torch; formcheck runs the same in numpy."""

import torch
from torch import Tensor, nn

from formcheck.measures.learned import OUTPUTS
from formcheck.measures.networks import SHIFTS_S

BASE_SD = (8.0, 6.0, 10.0, 15.0, 6.0, 1.5, 2.0, 3.0, 5.0, 6.0, 5.0, 3.0)
"""Where each predicted error begins; degrees, or percent of trunk length."""
WEIGHTS = (1.5, 1.2, 1.6, 1.4, 1.0, 2.0, 0.5, 1.0, 1.0, 0.7, 0.5, 0.5)
"""What an error of BASE_SD of each output costs; plane and rotation, the hardest to see, most."""
RARE = {
    "trunk_lean_side": (11, 5.0),
    "trunk_lean_forward": (12, 6.0),
    "trunk_turn": (13, 6.0),
}
"""What is near zero most of the time: column of the truth, and degrees at which it counts double.
Without that the network would hardly ever risk another answer than zero."""
MOST = 4.0
DROPOUT = 0.15


Near = list[tuple[Tensor, Tensor]]


class Network(nn.Module):
    """Features in; two direction changes, the vertical, five scalars and log errors out."""

    def __init__(self, features: int, units: int) -> None:
        super().__init__()
        self.first = nn.Linear(features, units)
        self.looks = nn.ModuleList(nn.Linear(3 * units, units) for _ in SHIFTS_S)
        self.last = nn.Linear(units, units // 2)
        self.output = nn.Linear(units // 2, 16 + len(OUTPUTS))
        self.drop = nn.Dropout(DROPOUT)
        nn.init.zeros_(self.output.weight)
        nn.init.zeros_(self.output.bias)

    def layers(self) -> list[nn.Module]:
        """In the order in which they are stored."""
        return [self.first, *self.looks, self.last, self.output]

    def forward(self, values: Tensor, near: Near) -> Tensor:
        """Outputs (n, 16 + len(OUTPUTS)) of standardised features (n, f); ``near``: the rows before
        and after each row that each step looks at.
        """
        silu = nn.functional.silu
        values = self.drop(silu(self.first(values)))
        for look, (before, after) in zip(self.looks, near, strict=True):
            beside = [values.index_select(0, rows) for rows in (before, after)]
            around = torch.cat([values, *beside], dim=1)
            values = values + self.drop(silu(look(around)))
        return self.output(silu(self.last(values)))


def errors(outputs: Tensor, upper: Tensor, fore: Tensor, truth: Tensor) -> tuple[Tensor, Tensor]:
    """Error of each output (n, len(OUTPUTS)) and the weight it has there (0 where undefined).

    The plane of elevation counts across the arm, so that it weighs little near the poles.
    """
    u, f = _unit(upper + outputs[:, 0:3]), _unit(fore + outputs[:, 3:6])
    up = _unit(outputs[:, 8:11] + torch.tensor([0.0, 0.0, 1.0]))
    true_u, true_f, true_up = truth[:, 0:3], truth[:, 3:6], truth[:, 8:11]
    down = torch.tensor([0.0, 0.0, -1.0]).expand_as(u)
    true_elevation, true_elbow = _angle(true_u, down), _angle(true_u, true_f)
    plane = torch.rad2deg(torch.atan2(u[:, 1], u[:, 0]) - torch.atan2(true_u[:, 1], true_u[:, 0]))
    found = torch.stack(
        [
            _angle(u, f) - true_elbow,
            _angle(u, down) - true_elevation,
            _wrapped(plane) * torch.sin(torch.deg2rad(true_elevation)).clamp_min(0.05),
            _wrapped(_rotation(u, f) - _rotation(true_u, true_f)),
            _angle(u, -up) - _angle(true_u, -true_up),
            3 * outputs[:, 6] - 100 * truth[:, 6],
            5 * outputs[:, 7] - 100 * truth[:, 7],
            10 * outputs[:, 11] - truth[:, 11],
            10 * outputs[:, 12] - truth[:, 12],
            10 * outputs[:, 13] - truth[:, 13],
            180 - 20 * nn.functional.softplus(outputs[:, 14]) - truth[:, 14],
            5 * outputs[:, 15] - 100 * truth[:, 15],
        ],
        dim=1,
    )
    weight = torch.isfinite(found).float()
    weight[:, 2] *= ((true_elevation > 20) & (true_elevation < 160)).float()
    weight[:, 3] *= ((true_elbow > 25) & (true_elbow < 165)).float()
    return torch.nan_to_num(found), weight


def loss_of(outputs: Tensor, upper: Tensor, fore: Tensor, truth: Tensor) -> Tensor:
    """Laplace likelihood of every error under its own predicted size, and the directions' squares.

    Each error counts by its predicted size, or those of hard situations, where the size is large,
    would hardly be learned (Seitzer et al. 2022, "On the Pitfalls of Heteroscedastic Uncertainty
    Estimation", with beta 1).
    """
    found, weight = errors(outputs, upper, fore, truth)
    for name, (column, double_deg) in RARE.items():
        amount = torch.nan_to_num(truth[:, column]).abs() / double_deg
        weight[:, OUTPUTS.index(name)] *= (1 + amount).clamp(max=MOST)
    size = sizes(outputs)
    weight = weight * torch.tensor(WEIGHTS) * size.detach() / torch.tensor(BASE_SD)
    likelihood = (torch.log(size) + found.abs() / size) * weight
    u, f = _unit(upper + outputs[:, 0:3]), _unit(fore + outputs[:, 3:6])
    directions = (u - truth[:, 0:3]).pow(2).sum(1) + (f - truth[:, 3:6]).pow(2).sum(1)
    return likelihood.mean() + 0.5 * directions.mean()


def sizes(outputs: Tensor) -> Tensor:
    """Predicted mean size of each error (n, len(OUTPUTS))."""
    return torch.exp(outputs[:, 16:].clamp(-4, 4)) * torch.tensor(BASE_SD)


def _unit(v: Tensor) -> Tensor:
    return v / v.norm(dim=-1, keepdim=True).clamp_min(1e-6)


def _angle(a: Tensor, b: Tensor) -> Tensor:
    tiny = 1e-7
    return torch.rad2deg(2 * torch.atan2((a - b).norm(dim=-1) + tiny, (a + b).norm(dim=-1) + tiny))


def _wrapped(degrees: Tensor) -> Tensor:
    return (degrees + 180) % 360 - 180


def _rotation(u: Tensor, f: Tensor) -> Tensor:
    """Tilt-and-torsion axial rotation, as in formcheck.measures.angles."""
    down = torch.tensor([0.0, 0.0, -1.0])
    axis = torch.cross(down.expand_as(u), u, dim=1)
    cosine = -u[:, 2:]

    def swung(vector: Tensor) -> Tensor:
        along = (axis * vector).sum(1, keepdim=True)
        turned = vector * cosine + torch.cross(axis, vector.expand_as(u), dim=1)
        return turned + axis * along / (1 + cosine).clamp_min(1e-3)

    ahead, outward = swung(torch.tensor([0.0, 1.0, 0.0])), swung(torch.tensor([1.0, 0.0, 0.0]))
    across = f - (f * u).sum(1, keepdim=True) * u
    return torch.rad2deg(torch.atan2(-(across * outward).sum(1), (across * ahead).sum(1) + 1e-9))
