"""The product's features in torch, for whole batches of altered clips at once.

``formcheck.measures.features`` is what counts: a test compares the two. Every arm is a right arm here:
left ones are in the mirror already.
"""

from dataclasses import dataclass
from functools import cache

import torch
from torch import Tensor

from formcheck.measures.features import OFFSETS_S
from formcheck.measures.networks import SHIFTS_S
from formcheck.measures.posture import HARDLY_SQUARE_SHARE, SQUARE_SHARE

NOSE, LEFT_EAR, RIGHT_EAR, LEFT_SHOULDER, RIGHT_SHOULDER = range(5)
LEFT_ELBOW, RIGHT_ELBOW, LEFT_WRIST, RIGHT_WRIST, LEFT_INDEX, RIGHT_INDEX = range(5, 11)
LEFT_HIP, RIGHT_HIP = 11, 12
"""Places of landmarks in the order of ``shards.KEPT``."""
MIRRORED = (0, *(k + 1 if k % 2 else k - 1 for k in range(1, 17)))
"""The order in which left and right have changed places."""
_VISIBLE = (RIGHT_SHOULDER, RIGHT_ELBOW, RIGHT_WRIST, RIGHT_EAR, LEFT_SHOULDER, LEFT_ELBOW)


@cache
def constant(values: tuple[object, ...]) -> Tensor:
    """Numbers that are put on the device once: a copy at each use would have the device wait."""
    return torch.tensor(values)


@dataclass(slots=True)
class Seen:
    """What the pose model sees of some right arms: ``image`` (b, t, 17, 2) in pixels from the middle of
    the picture, ``world`` (b, t, 17, 3), ``visibility`` (b, t, 17), whose first ``lengths`` (b,) times
    are there; ``larger`` (b,) side of the picture in pixels, ``rate_hz`` (b,).
    """

    image: Tensor
    world: Tensor
    visibility: Tensor
    lengths: Tensor
    larger: Tensor
    rate_hz: Tensor

    @property
    def there(self) -> Tensor:
        """(b, t) True at the times that a clip has."""
        return torch.arange(self.image.shape[1]) < self.lengths[:, None]


def features_of(seen: Seen, longest: Tensor | None = None) -> tuple[Tensor, Tensor, Tensor]:
    """Features (b, t, f) and raw directions (b, t, 3) of upper arm and forearm.

    ``longest`` (b, 2): upper arm and forearm, in trunk lengths, as shown at times not in the batch.
    """
    image, world = seen.image, seen.world
    up, axes = _trunk_axes(world)
    ruler = _ruler_px(image, up, seen.there)
    trunk_m = (_middle(world, LEFT_SHOULDER) - _middle(world, LEFT_HIP)).norm(dim=-1)
    flat = (image - image[:, :, RIGHT_SHOULDER, None]) / ruler[..., None, None]
    solid = (world - world[:, :, RIGHT_SHOULDER, None]) / trunk_m[..., None, None]
    upper3 = world[:, :, RIGHT_ELBOW] - world[:, :, RIGHT_SHOULDER]
    fore3 = world[:, :, RIGHT_WRIST] - world[:, :, RIGHT_ELBOW]
    upper, fore = (_unit(torch.einsum("btij,btj->bti", axes, v)) for v in (upper3, fore3))
    hand = torch.cat([upper, fore, flat[:, :, RIGHT_ELBOW], flat[:, :, RIGHT_WRIST]], dim=-1)
    hips = _middle(image, LEFT_HIP) / seen.larger[:, None, None]
    parts = [
        flat.flatten(2),
        solid.flatten(2),
        axes[:, :, 1:].flatten(2),
        upper,
        fore,
        _raw_angles(image, upper3, fore3, upper) / 90,
        _shown_shares(flat, seen.there, longest),
        seen.visibility.index_select(2, constant(_VISIBLE)).clamp(0, 1),
        hips,
        (ruler / seen.larger[:, None])[..., None],
        *(_shifted(hand, seen, offset_s) for offset_s in OFFSETS_S),
    ]
    return torch.cat(parts, dim=-1), upper, fore


def neighbours_of(seen: Seen) -> list[tuple[Tensor, Tensor]]:
    """For each look of the networks the times (b, t), (b, t) that far before and after."""
    return [(_at(seen, -shift), _at(seen, shift)) for shift in SHIFTS_S]


def _at(seen: Seen, shift_s: float) -> Tensor:
    """Places (b, t) of the times ``shift_s`` later, or the clip's last or first."""
    steps = torch.round(shift_s * seen.rate_hz).long()[:, None]
    wanted = torch.arange(seen.image.shape[1]) + steps
    return torch.minimum(wanted.clamp_min(0), seen.lengths[:, None] - 1)


def _shifted(values: Tensor, seen: Seen, shift_s: float) -> Tensor:
    index = _at(seen, shift_s)[..., None].expand_as(values)
    return values.gather(1, index)


def _trunk_axes(world: Tensor) -> tuple[Tensor, Tensor]:
    """The trunk's up, and its axes (b, t, 3, 3): toward the right arm, forward, up."""
    up = _unit(_middle(world, LEFT_SHOULDER) - _middle(world, LEFT_HIP))
    across = world[:, :, LEFT_SHOULDER] - world[:, :, RIGHT_SHOULDER]
    left = _unit(across - (across * up).sum(-1, keepdim=True) * up)
    return up, torch.stack([-left, torch.cross(left, up, dim=-1), up], dim=-2)


def _ruler_px(image: Tensor, up: Tensor, there: Tensor) -> Tensor:
    """The trunk's length in the picture were it square on, (b, t); see ``Posture.ruler_px``."""
    shown = (_middle(image, LEFT_SHOULDER) - _middle(image, LEFT_HIP)).norm(dim=-1)
    in_plane = up[..., :2].norm(dim=-1)

    def by(square_on: float) -> Tensor:
        length = torch.where(in_plane > square_on, shown / in_plane.clamp_min(square_on), torch.nan)
        typical = torch.where(there, length, torch.nan).nanmedian(dim=1, keepdim=True).values
        return torch.where(length.isnan(), typical, length)

    sure = by(SQUARE_SHARE)
    return torch.where(sure.isnan(), by(HARDLY_SQUARE_SHARE), sure)


def _raw_angles(image: Tensor, upper3: Tensor, fore3: Tensor, upper: Tensor) -> Tensor:
    upper2 = image[:, :, RIGHT_ELBOW] - image[:, :, RIGHT_SHOULDER]
    fore2 = image[:, :, RIGHT_WRIST] - image[:, :, RIGHT_ELBOW]
    down2 = _middle(image, LEFT_HIP) - _middle(image, LEFT_SHOULDER)
    down = constant((0.0, 0.0, -1.0)).expand_as(upper)
    pairs = ((upper2, fore2), (upper3, fore3), (upper2, down2), (upper, down))
    return torch.stack([_angle_deg(a, b) for a, b in pairs], dim=-1)


def _shown_shares(flat: Tensor, there: Tensor, longest: Tensor | None) -> Tensor:
    columns = []
    pairs = ((RIGHT_SHOULDER, RIGHT_ELBOW), (RIGHT_ELBOW, RIGHT_WRIST))
    for k, (near, far) in enumerate(pairs):
        length = (flat[:, :, far] - flat[:, :, near]).norm(dim=-1)
        most = torch.where(there, length, torch.nan).nanquantile(0.95, dim=1)
        most = most if longest is None else torch.maximum(most, longest[:, k])
        most = most[:, None].expand_as(length)
        columns += [length, most, length / most.clamp_min(1e-6)]
    return torch.stack(columns, dim=-1)


def _middle(points: Tensor, left: int) -> Tensor:
    return (points[:, :, left] + points[:, :, left + 1]) / 2


def _unit(v: Tensor) -> Tensor:
    return v / v.norm(dim=-1, keepdim=True).clamp_min(1e-9)


def _angle_deg(a: Tensor, b: Tensor) -> Tensor:
    a, b = _unit(a), _unit(b)
    return torch.rad2deg(2 * torch.atan2((a - b).norm(dim=-1), (a + b).norm(dim=-1)))
