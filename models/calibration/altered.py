"""Made clips shown otherwise: other arms, bodies, cameras and moments, and a worse or better pose model.

What a pose model gets wrong of real people is not what it gets wrong of rendered ones: above all it
flattens depth more. A network that meets only rendered people learns how exercises mostly look instead
of what it is shown. So each time that a clip is fitted it is altered at random, on the graphics
processor, with its truth: nothing is rendered again. What the pose model got wrong stays as it was, or
grows, shrinks, is flattened. Of a true change across the picture its space shows nearly all, of one
along the line of sight only a part (SHOWN).

Axes are the camera's (x right, y down, z away), lengths metres.
"""

from dataclasses import dataclass, replace

import torch
from torch import Tensor

from models.calibration import seen as s
from models.calibration.seen import Seen, constant

SHOWN = (
    *[(0.95, 0.98, 0.68)] * 3,
    *[(1.00, 1.05, 0.85)] * 2,
    *[(0.87, 0.97, 0.72)] * 2,
    *[(0.95, 0.97, 0.56)] * 2,
    *[(0.92, 0.94, 0.48)] * 2,
    *[(0.82, 0.62, 0.90)] * 2,
    *[(1.00, 0.98, 0.70)] * 2,
    *[(1.00, 0.90, 0.72)] * 2,
)
"""Share of a joint's true place (right, down, away) that the pose model's space shows: slope of the
regression over 80 clips of ``loose``, in the order of ``shards.KEPT``."""

_ARM_CHAIN = (
    (s.RIGHT_SHOULDER, s.RIGHT_ELBOW, s.RIGHT_WRIST, s.RIGHT_INDEX),
    (s.LEFT_SHOULDER, s.LEFT_ELBOW, s.LEFT_WRIST, s.LEFT_INDEX),
)
_NEAREST_M = 0.3
_AXES = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
_PAIRS = (0, *(k if k % 2 else k - 1 for k in range(1, 17)))
_TOO_BENT = -0.88
"""Cosine of an elbow bent by 152 degrees."""
_TRUNK_RADIUS = 0.42
"""Of the trunk, in widths of the shoulders: hands do not go nearer to its middle line."""


@dataclass(frozen=True, slots=True)
class Manner:
    """Which alterations are made."""

    context: bool = True
    """Single pictures, short windows and stops."""
    arms: bool = True
    build: bool = True
    camera: bool = True
    depth: bool = True
    bias: bool = True


@dataclass(slots=True)
class Shown:
    """Right arms of clips (left ones in the mirror): what was seen of them, and what is true.

    ``places`` (b, t, 17, 3) from the camera; ``axes`` (b, t, 3, 3) the thorax's, toward the right arm,
    forward and up; ``truth`` (b, t, len(TARGETS)); ``focal_px`` (b,).
    """

    seen: Seen
    places: Tensor
    axes: Tensor
    truth: Tensor
    focal_px: Tensor


def moments(lengths: Tensor, count: int, stops: float) -> Tensor:
    """Which times (b, count) of clips are shown; a share ``stops`` of the clips comes to a stop.

    They are shown to and fro from a random time on, so that clips of a few seconds show as much before
    and after a moment as long ones. Of those that stop, some move until a moment, some from one on, and
    some stand still for a while in between.
    """
    clips, lengths = len(lengths), lengths[:, None]
    step = torch.arange(count).expand(clips, count)
    at = (torch.rand(clips, 1) * lengths).long()
    there_and_back = 2 * (lengths - 1).clamp_min(1)
    folded = (at + step) % there_and_back
    shown = torch.minimum(folded, there_and_back - folded)
    moving, still = ((torch.rand(clips, 1) * count).long() for _ in range(2))
    way = torch.randint(0, 3, (clips, 1))
    still = torch.where(way == 0, count, still)
    moving = torch.where(way == 1, 0, moving)
    stopped = at + (step - moving).clamp_max(0) + (step - moving - still).clamp_min(0)
    shown = torch.where(torch.rand(clips, 1) < stops, stopped, shown)
    return torch.minimum(shown.clamp_min(0), lengths - 1)


def altered(shown: Shown, manner: Manner) -> Shown:
    """The clips as they would look with other arms, bodies and cameras, and otherwise wrong."""
    clips = len(shown.focal_px)
    some = (torch.rand(clips) < 0.5).float()
    places, focal = shown.places, shown.focal_px
    flat, scale = projected(places, focal)
    wrong_flat = (shown.seen.image - flat) / scale
    wrong_solid = shown.seen.world - constant(SHOWN) * _about_hips(places)
    axes = shown.axes
    if manner.build:
        places = _rebuilt(places, some)
    if manner.arms:
        places = _arms_moved(places, shown.seen, some)
    if manner.camera:
        places, axes, focal, wrong_flat = _camera_moved(places, axes, focal, wrong_flat, some)
    flat, scale = projected(places, focal)
    world = constant(SHOWN) * _about_hips(places) + wrong_solid
    if manner.depth:
        world, wrong_flat = _depth_otherwise(world, wrong_flat, _about_hips(places))
    if manner.bias:
        world, wrong_flat = _biased(world, wrong_flat, shown.seen)
    seen = replace(shown.seen, image=flat + wrong_flat * scale, world=world)
    return Shown(seen, places, axes, _truth_of(shown.truth, places, axes), focal)


def projected(places: Tensor, focal_px: Tensor) -> tuple[Tensor, Tensor]:
    """Pixels (b, t, 17, 2) from the middle of the picture, and pixels a metre there (b, t, 17, 1)."""
    scale = focal_px[:, None, None, None] / places[..., 2:].clamp_min(_NEAREST_M)
    return places[..., :2] * scale, scale


def _about_hips(places: Tensor) -> Tensor:
    return places - places[:, :, s.LEFT_HIP : s.RIGHT_HIP + 1].mean(dim=2, keepdim=True)


def _truth_of(truth: Tensor, places: Tensor, axes: Tensor) -> Tensor:
    """The truth with the directions of the arm as they are now."""
    upper = places[:, :, s.RIGHT_ELBOW] - places[:, :, s.RIGHT_SHOULDER]
    fore = places[:, :, s.RIGHT_WRIST] - places[:, :, s.RIGHT_ELBOW]
    now = [torch.einsum("btij,btj->bti", axes, unit(v)) for v in (upper, fore)]
    return torch.cat([*now, truth[..., 6:]], dim=-1)


def _rebuilt(places: Tensor, some: Tensor) -> Tensor:
    """Other lengths of arms and width of shoulders; a third of them beyond what is usual."""
    clips = len(places)
    spread = torch.where(torch.rand(clips) < 0.3, 0.12, 0.05) * some

    def factor() -> Tensor:
        return torch.exp(torch.randn(clips) * spread)[:, None, None]

    places = places.clone()
    across = places[:, :, s.RIGHT_SHOULDER] - places[:, :, s.LEFT_SHOULDER]
    wider = (factor() - 1) * across / 2
    longer = [factor() for _ in range(3)]
    for chain, way in zip(_ARM_CHAIN, (1, -1), strict=True):
        was = [places[:, :, joint].clone() for joint in chain]
        places[:, :, chain[0]] = was[0] + way * wider
        for k in range(3):
            places[:, :, chain[k + 1]] = places[:, :, chain[k]] + longer[k] * (was[k + 1] - was[k])
    return places


def _arms_moved(places: Tensor, seen: Seen, some: Tensor) -> Tensor:
    """Arms held otherwise, a little to a lot, and swaying; as they were if that goes through the body."""
    for chain in _ARM_CHAIN:
        near = torch.exp(torch.empty(len(places)).uniform_(1.0, 3.7)) * some
        moved = _arm_moved(places, seen, chain, near)
        kept = _possible(moved, places, chain)[:, None, None, None]
        moved = torch.where(kept, moved, _arm_moved(places, seen, chain, near * 0.2))
        kept = kept | _possible(moved, places, chain)[:, None, None, None]
        places = torch.where(kept, moved, _arm_moved(places, seen, chain, near * 0))
    return places


def _arm_moved(places: Tensor, seen: Seen, chain: tuple[int, ...], near_deg: Tensor) -> Tensor:
    shoulder, elbow, wrist, index = (places[:, :, joint] for joint in chain)
    first, second = (_turns_deg(seen, near_deg) for _ in range(2))
    with_upper = (torch.rand(len(places)) < 0.5)[:, None, None]
    upper = _turned(elbow - shoulder, first)
    fore = _turned(wrist - elbow, torch.where(with_upper, first, second))
    hand = _turned(index - wrist, torch.where(with_upper, first, second))
    fore, hand = (torch.where(with_upper, _turned(v, second * 0.7), v) for v in (fore, hand))
    moved = places.clone()
    for joint, v in zip(chain[1:], (upper, fore, hand), strict=True):
        shoulder = shoulder + v
        moved[:, :, joint] = shoulder
    return moved


def _turns_deg(seen: Seen, near_deg: Tensor) -> Tensor:
    """Rotation vectors (b, t, 3): one for the whole clip, a slow drift, and the sway of held arms."""
    clips, count = seen.image.shape[:2]
    fixed = torch.randn(clips, 1, 3) * near_deg[:, None, None]
    drift = smooth_noise(clips, count, 3, 12) * 0.4 * near_deg[:, None, None]
    sway = torch.exp(torch.empty(clips, 1, 1).uniform_(-1.6, 1.0)) * smooth_noise(
        clips, count, 3, 5
    )
    return fixed + drift + sway


def smooth_noise(clips: int, count: int, width: int, every: int) -> Tensor:
    """Noise (b, t, width) that goes smoothly from one random value to the next."""
    knots = torch.randn(clips, width, count // every + 3)
    at = torch.arange(count)
    low, share = at // every, (at % every) / every
    fine = torch.lerp(knots.index_select(2, low), knots.index_select(2, low + 1), share)
    return fine.transpose(1, 2)


def _possible(moved: Tensor, was: Tensor, chain: tuple[int, ...]) -> Tensor:
    """(b,) Whether the arm bends as elbows do and the hand is outside the trunk, or was inside before."""
    shoulder, elbow, wrist = (moved[:, :, joint] for joint in chain[:3])
    bent = (unit(elbow - shoulder) * unit(wrist - elbow)).sum(-1).amin(1) < _TOO_BENT
    return ~bent & (~_inside(moved, wrist) | _inside(was, was[:, :, chain[2]]))


def _inside(places: Tensor, point: Tensor) -> Tensor:
    top = places[:, :, s.LEFT_SHOULDER : s.RIGHT_SHOULDER + 1].mean(2)
    bottom = places[:, :, s.LEFT_HIP : s.RIGHT_HIP + 1].mean(2)
    wide = (places[:, :, s.LEFT_SHOULDER] - places[:, :, s.RIGHT_SHOULDER]).norm(dim=-1)
    line = top - bottom
    along = ((point - bottom) * line).sum(-1) / line.pow(2).sum(-1)
    off = (point - bottom - along[..., None] * line).norm(dim=-1)
    return ((along > -0.1) & (along < 1.1) & (off < _TRUNK_RADIUS * wide)).any(dim=1)


def _camera_moved(
    places: Tensor, axes: Tensor, focal: Tensor, wrong_flat: Tensor, some: Tensor
) -> tuple[Tensor, Tensor, Tensor, Tensor]:
    """Another camera about the subject, nearer or further, with another lens and askew."""
    clips = len(places)
    far = torch.where(torch.rand(clips) < 0.3, 2.5, 1.0) * some
    vector = torch.randn(clips, 3) * constant((5.0, 10.0, 3.0)) * far[:, None]
    roll = torch.where(torch.rand(clips) < 0.12, torch.empty(clips).uniform_(-35, 35), 0.0)
    vector[:, 2] += roll * some
    turn = _matrices(torch.deg2rad(vector))
    middle = places.mean(dim=(1, 2), keepdim=True)
    nearer = torch.exp(torch.randn(clips) * 0.2 * some)[:, None, None, None]
    turned = torch.einsum("bij,btkj->btki", turn, places - middle) + middle * nearer
    axes = torch.einsum("bij,btkj->btki", turn, axes)
    angle = torch.deg2rad(vector[:, 2])
    in_plane = torch.stack([angle.cos(), -angle.sin(), angle.sin(), angle.cos()], 1).view(-1, 2, 2)
    wrong_flat = torch.einsum("bij,btkj->btki", in_plane, wrong_flat)
    return turned, axes, focal * torch.exp(torch.randn(clips) * 0.12 * some), wrong_flat


def _depth_otherwise(world: Tensor, wrong_flat: Tensor, true: Tensor) -> tuple[Tensor, Tensor]:
    """Depth flattened in some clips, and brought nearer to the truth, as all else, in others."""
    clips = len(world)
    kind = torch.rand(clips)
    flatter = torch.empty(clips).uniform_(0.35, 1.1)[:, None] * torch.exp(
        0.15 * torch.randn(clips, 17)
    )
    flatter = torch.where(kind[:, None] < 0.4, flatter, 1.0)
    # One factor for left and right, or arms would be bent to one side.
    flatter = flatter.index_select(1, constant(_PAIRS))
    world = torch.cat([world[..., :2], world[..., 2:] * flatter[:, None, :, None]], dim=-1)
    nearer = torch.where(kind > 0.75, torch.rand(clips).sqrt(), 0.0)[:, None, None, None]
    picture = nearer * (torch.rand(clips) < 0.5)[:, None, None, None]
    return world + nearer * (true - world), wrong_flat * (1 - picture)


def _biased(world: Tensor, wrong_flat: Tensor, seen: Seen) -> tuple[Tensor, Tensor]:
    """Every landmark a little off all through a clip, and a jitter, as big as the clip likes."""
    clips, count = world.shape[:2]
    size = torch.exp(0.7 * torch.randn(clips)) * (torch.rand(clips) < 0.7)
    size = size[:, None, None, None]
    jitter = size * 0.004
    solid = torch.randn(clips, 1, 17, 3) * constant((0.012, 0.012, 0.04)) * size
    flat = torch.randn(clips, 1, 17, 2) * 0.012 * size
    drift = smooth_noise(clips, count, 17 * 3, 9).unflatten(2, (17, 3))
    world = world + solid + drift * constant((0.006, 0.006, 0.02)) * size
    world = world + jitter * torch.randn_like(world)
    return world, wrong_flat + flat + 0.006 * size * drift[..., :2] + jitter * torch.randn_like(
        wrong_flat
    )


def _turned(v: Tensor, vectors_deg: Tensor) -> Tensor:
    """Vectors (..., 3) turned by rotation vectors in degrees."""
    angle = vectors_deg.norm(dim=-1, keepdim=True)
    axis = vectors_deg / angle.clamp_min(1e-9)
    angle = torch.deg2rad(angle)
    along = axis * (axis * v).sum(-1, keepdim=True)
    return v * angle.cos() + torch.cross(axis, v, dim=-1) * angle.sin() + along * (1 - angle.cos())


def _matrices(vectors: Tensor) -> Tensor:
    """Rotations (b, 3, 3) of rotation vectors (b, 3) in radians."""
    columns = [_turned(e.expand_as(vectors), torch.rad2deg(vectors)) for e in constant(_AXES)]
    return torch.stack(columns, dim=-1)


def unit(v: Tensor) -> Tensor:
    """Vectors (..., 3) scaled to length 1."""
    return v / v.norm(dim=-1, keepdim=True).clamp_min(1e-9)
