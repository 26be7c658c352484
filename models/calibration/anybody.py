"""Random people in random movement, before random cameras: true places only, on the graphics processor.

Nothing is rendered, so there is no end of them. Builds go beyond those of the rendered people; arms go
anywhere that arms reach, to and fro as in exercises, once, or not at all; trunks stand, lean, stoop,
sit, lie, turn; cameras look from the floor to far above and are held askew. What a pose model would
make of them is said by ``emulated.py``.

Axes of a person are those of ``altered.Shown``: toward the right arm, forward, up. Angles are formcheck's.
"""

import math
from dataclasses import dataclass

import torch
from torch import Tensor

from models.calibration.altered import smooth_noise, unit
from models.calibration.seen import constant

JOINT_COUNT = 17
_HEADS = 3
_FACING_CAMERA = ((-1.0, 0.0, 0.0), (0.0, 0.0, -1.0), (0.0, -1.0, 0.0))
"""The axes of who stands upright and faces a level camera, in the camera's (x right, y down, z away)."""
_KEYS = 24
"""Places that an arm goes to, one after the other; after the last comes the first again."""
_THORAX_BACK_DEG = 1.2
"""How far a thorax leans back from the line of hips and shoulders: of rendered people 2.6, and of real
ones that line is the trunk itself."""


@dataclass(slots=True)
class People:
    """True places (b, t, 17, 3) before a camera, metres, in the order of ``shards.KEPT``; ``axes``
    (b, t, 3, 3); ``truth`` (b, t, len(TARGETS)); ``trunk_m`` (b,); ``focal_px`` and ``larger`` (b,).
    """

    places: Tensor
    axes: Tensor
    truth: Tensor
    trunk_m: Tensor
    focal_px: Tensor
    larger: Tensor


def people(clips: int, count: int, rate_hz: float, heads: Tensor) -> People:
    """So many clips of ``count`` times; ``heads`` (b, t, 3, 3) are nose and ears from the middle of the
    shoulders, in the trunk's axes and lengths.
    """
    low = torch.rand(clips) < 0.14
    trunk, pelvis = _trunk_turns(clips, count, low)
    arms = [_arm_angles(clips, count, rate_hz) for _ in range(3)]
    other = _mixed(_any(clips, 0.4), arms[0] + 6 * torch.randn(clips, 1, 4), arms[1])
    other = _mixed(_any(clips, 0.2), _hanging(clips) + 0 * other, other)
    points = _skeleton(trunk, pelvis, (arms[0], other), heads, low)
    axes = _axes_of(points)
    trunk_m = 0.47 * torch.exp(0.13 * torch.randn(clips))
    camera, gravity = _camera_turn(clips)
    points = torch.einsum("bij,btkj->btki", camera, points) * trunk_m[:, None, None, None]
    axes = torch.einsum("bij,btkj->btki", camera, axes)
    places, focal, larger = _before_camera(points, trunk_m)
    truth = _truth_of(places, axes, gravity)
    return People(places, axes, truth, trunk_m, focal, larger)


def _any(clips: int, share: float) -> Tensor:
    return (torch.rand(clips) < share)[:, None, None]


def _mixed(where: Tensor, one: Tensor, other: Tensor) -> Tensor:
    return torch.where(where, one, other)


def _uniform(low: float, high: float, *shape: int) -> Tensor:
    return torch.empty(*shape).uniform_(low, high)


# ---- arms


def _hanging(clips: int) -> Tensor:
    """(b, 1, 4)"""
    return constant((9.0, 15.0, 0.0, 10.0)) + 5 * torch.randn(clips, 1, 4)


def _keys(clips: int) -> Tensor:
    """Arm angles (b, _KEYS, 4): elevation, plane, axial rotation, elbow, degrees."""
    shape = (clips, _KEYS)
    elevation = torch.rad2deg(torch.acos(_uniform(-0.96, 0.99, *shape)))
    plane = torch.where(
        torch.rand(shape) < 0.15, _uniform(-95, 150, *shape), _uniform(-45, 125, *shape)
    )
    turn = torch.where(torch.rand(shape) < 0.5, _uniform(-100, 90, *shape), 30 * torch.randn(shape))
    straight = 8 + 7 * torch.randn(shape)
    elbow = torch.where(torch.rand(shape) < 0.3, straight, _uniform(5, 145, *shape))
    keys = torch.stack([elevation, plane, turn, elbow], dim=-1)
    return torch.where(torch.rand(*shape, 1) < 0.12, _hanging(clips), keys)


def _arm_angles(clips: int, count: int, rate_hz: float) -> Tensor:
    """Arm angles (b, t, 4) over time: to and fro between two or three places, from each place to another,
    or in one; with pauses, and the sway of held arms.
    """
    keys = _outside_trunk(_keys(clips))
    at = torch.arange(_KEYS)
    way = torch.rand(clips)[:, None]
    period = torch.where(torch.rand(clips, 1) < 0.7, 2, 3)
    place = torch.where(way < 0.4, at % period, torch.where(way < 0.82, at, 0))
    keys = keys.gather(1, place[..., None].expand_as(keys))
    keys = keys + 5 * torch.randn_like(keys) * torch.rand(clips, 1, 1)
    moving = torch.exp(_uniform(-1.2, 1.2, clips, 1)) * torch.exp(0.25 * torch.randn(clips, _KEYS))
    resting = torch.where(torch.rand(clips, 1) < 0.5, 0.0, 2 * torch.rand(clips, _KEYS))
    resting = torch.where(torch.rand(clips, _KEYS) < 0.06, _uniform(2, 12, clips, _KEYS), resting)
    ends = torch.cumsum(moving + resting, dim=1)
    time_s = torch.arange(count) / rate_hz + torch.rand(clips, 1) * ends[:, -1:]
    time_s = time_s % ends[:, -1:]
    now = torch.searchsorted(ends, time_s.contiguous()).clamp_max(_KEYS - 1)
    begun = (ends - moving - resting).gather(1, now)
    share = ((time_s - begun) / moving.gather(1, now)).clamp(0, 1)
    share = (share**3 * (10 - 15 * share + 6 * share**2))[..., None]
    there = now[..., None].expand(-1, -1, 4)
    angles = torch.lerp(keys.gather(1, there), keys.gather(1, (there + 1) % _KEYS), share)
    sway = torch.exp(_uniform(-1.6, 1.2, clips, 1, 1)) * smooth_noise(clips, count, 4, 5)
    return angles + sway


def arm_directions(angles: Tensor) -> tuple[Tensor, Tensor]:
    """Directions (..., 3) of upper arm and forearm, as (lateral, forward, up), of angles (..., 4)."""
    elevation, plane, turn, elbow = torch.deg2rad(angles).unbind(-1)
    across = elevation.sin()
    upper = torch.stack([across * plane.cos(), across * plane.sin(), -elevation.cos()], dim=-1)
    down = constant((0.0, 0.0, -1.0)).expand_as(upper)
    axis, cosine = torch.cross(down, upper, dim=-1), elevation.cos()[..., None]

    def swung(vector: tuple[float, ...]) -> Tensor:
        vectors = constant(vector).expand_as(upper)
        along = (axis * vectors).sum(-1, keepdim=True)
        turned = vectors * cosine + torch.cross(axis, vectors, dim=-1)
        return turned + axis * along / (1 + cosine).clamp_min(1e-3)

    ahead, outward = swung((0.0, 1.0, 0.0)), swung((1.0, 0.0, 0.0))
    bent = turn.cos()[..., None] * ahead - turn.sin()[..., None] * outward
    return upper, elbow.cos()[..., None] * upper + elbow.sin()[..., None] * bent


def _outside_trunk(keys: Tensor) -> Tensor:
    """The same with hands that would be in the trunk put elsewhere: the elbow straightened."""
    upper, fore = arm_directions(keys)
    hand = constant((0.4, 0.0, 1.0)) + 0.55 * upper + 0.55 * fore
    inside = (hand[..., :2] / constant((0.42, 0.3))).norm(dim=-1) < 1
    inside = inside & (hand[..., 2] > -0.1) & (hand[..., 2] < 1.5)
    elbow = torch.where(inside, keys[..., 3] * 0.15, keys[..., 3])
    return torch.cat([keys[..., :3], elbow[..., None]], dim=-1)


# ---- trunk, legs


def _trunk_turns(clips: int, count: int, low: Tensor) -> tuple[Tensor, Tensor]:
    """Turns (b, t, 3, 3) of trunk and pelvis from a room (right, forward, up; 0 faces the camera)."""
    stooping = (torch.rand(clips) < 0.2)[:, None]
    lively = torch.where(torch.rand(clips) < 0.3, 1.0, 0.15)[:, None, None]
    drift = smooth_noise(clips, count, 4, 14) * constant((30.0, 12.0, 12.0, 20.0)) * lively
    yaw = torch.where(torch.rand(clips) < 0.5, _uniform(-180, 180, clips), 45 * torch.randn(clips))
    side = torch.where(stooping, 15.0, 5.0) * torch.randn(clips, 1)
    ahead = torch.where(stooping, _uniform(-10, 50, clips, 1), 2 + 6 * torch.randn(clips, 1))
    roll = torch.where(torch.rand(clips) < 0.4, _uniform(-180, 180, clips), 10 * torch.randn(clips))
    ahead = torch.where(low[:, None], 90 * torch.sign(torch.randn(clips, 1)), ahead)
    roll = torch.where(low, roll, 0.0)
    heading = axis_turns(2, yaw[:, None] + drift[..., 0])
    bent = axis_turns(0, -(ahead + drift[..., 1])) @ axis_turns(1, -(side + drift[..., 2]))
    about = axis_turns(2, roll[:, None] + drift[..., 3] + 8 * torch.randn(clips, 1))
    trunk = heading @ bent @ about
    loose = [axis_turns(k, 7 * torch.randn(clips, 1)).expand(-1, count, -1, -1) for k in range(3)]
    twisted = axis_turns(2, -drift[..., 3])
    pelvis = trunk @ twisted @ loose[2] @ loose[0] @ loose[1]
    return trunk, pelvis


def _skeleton(
    trunk: Tensor, pelvis: Tensor, arms: tuple[Tensor, Tensor], heads: Tensor, low: Tensor
) -> Tensor:
    """Places (b, t, 17, 3) in the room from the middle of the hips, in trunk lengths."""
    clips = len(trunk)

    def about(middle: float, spread: float) -> Tensor:
        return middle * torch.exp(spread * torch.randn(clips, 1, 1))

    def put(turn: Tensor, vectors: Tensor) -> Tensor:
        return torch.einsum("btij,btj->bti", turn, vectors)

    top = trunk[..., 2]
    wide, hips_wide = about(0.76, 0.12), about(0.48, 0.15)
    lengths = [about(0.555, 0.1), about(0.496, 0.1), about(0.237, 0.08)]
    joints: list[Tensor] = [top + put(trunk, heads[:, :, k]) for k in range(_HEADS)]
    chains = []
    for way, angles in ((1.0, arms[0]), (-1.0, arms[1])):
        mirror = constant((way, 1.0, 1.0))
        upper, fore = (v * mirror for v in arm_directions(angles))
        raised = (angles[..., :1] / 120).clamp(0, 1.2)
        girdle = constant((0.0, 0.0, 1.0)) * raised * about(0.08, 0.5)
        girdle = girdle + constant((0.0, 1.0, 0.0)) * (
            0.06 * torch.randn(clips, 1, 1) + 0.08 * upper[..., 1:2]
        )
        shoulder = top + put(trunk, mirror * constant((0.5, 0.0, 0.0)) * wide + girdle)
        elbow = shoulder + lengths[0] * put(trunk, upper)
        wrist = elbow + lengths[1] * put(trunk, fore)
        bent = unit(fore + 0.25 * torch.randn(clips, 1, 3))
        chains.append((shoulder, elbow, wrist, wrist + lengths[2] * put(trunk, bent)))
    for k in range(4):
        joints += [chains[1][k], chains[0][k]]
    return torch.stack(joints + _legs(trunk, pelvis, hips_wide, low), dim=2)


def _legs(trunk: Tensor, pelvis: Tensor, wide: Tensor, low: Tensor) -> list[Tensor]:
    """Hips, knees and ankles, left then right: standing, bent or seated, or in line with who lies."""
    clips, count = trunk.shape[:2]
    seated = _any(clips, 0.2) & ~low[:, None, None]
    bend = torch.where(seated, _uniform(40, 95, clips, 1, 1), (15 * torch.randn(clips, 1, 1)).abs())
    bend = (bend + 8 * smooth_noise(clips, count, 1, 12)).clamp_min(0)
    down = torch.where(
        low[:, None, None], -trunk[..., 2], constant((0.0, 0.0, -1.0)).expand_as(trunk[..., 2])
    )
    front = unit(pelvis[..., 1] - (pelvis[..., 1] * down).sum(-1, keepdim=True) * down)
    angle = torch.deg2rad(bend)
    thigh, shank = angle.cos() * down + angle.sin() * front, down
    knees_m, ankles_m = (0.80, 0.93)
    hips, knees, ankles = [], [], []
    for way in (-1.0, 1.0):
        apart = 0.12 * torch.randn(clips, 1, 3)
        hips.append(way * 0.5 * wide * pelvis[..., 0])
        knees.append(hips[-1] + knees_m * unit(thigh + apart))
        ankles.append(knees[-1] + ankles_m * unit(shank + apart + 0.1 * torch.randn(clips, 1, 3)))
    return [*hips, *knees, *ankles]


def _axes_of(points: Tensor) -> Tensor:
    """The trunk's axes (b, t, 3, 3) by hips and shoulders, the thorax a little back of them."""
    up = unit(points[:, :, 3:5].mean(2) - points[:, :, 11:13].mean(2))
    across = points[:, :, 4] - points[:, :, 3]
    right = unit(across - (across * up).sum(-1, keepdim=True) * up)
    ahead = torch.cross(up, right, dim=-1)
    back = math.radians(_THORAX_BACK_DEG)
    leaning = math.cos(back) * up - math.sin(back) * ahead
    return torch.stack([right, torch.cross(leaning, right, dim=-1), leaning], dim=-2)


def axis_turns(axis: int, degrees: Tensor) -> Tensor:
    """Rotations (..., 3, 3) about a coordinate axis."""
    angle = torch.deg2rad(degrees)
    cosine, sine, zero = angle.cos(), angle.sin(), torch.zeros_like(angle)
    one = torch.ones_like(angle)
    rows = {
        0: ((one, zero, zero), (zero, cosine, -sine), (zero, sine, cosine)),
        1: ((cosine, zero, sine), (zero, one, zero), (-sine, zero, cosine)),
        2: ((cosine, -sine, zero), (sine, cosine, zero), (zero, zero, one)),
    }[axis]
    return torch.stack([torch.stack(row, dim=-1) for row in rows], dim=-2)


# ---- camera


def _camera_turn(clips: int) -> tuple[Tensor, Tensor]:
    """Turns (b, 3, 3) from the room into the camera's axes, and the vertical (b, 3) there."""
    level = torch.rand(clips) < 0.6
    pitch = torch.where(level, 8 * torch.randn(clips), _uniform(-20, 45, clips))
    roll = torch.where(torch.rand(clips) < 0.75, 4 * torch.randn(clips), _uniform(-35, 35, clips))
    slant = axis_turns(2, roll[:, None]) @ axis_turns(0, pitch[:, None])
    turn = slant[:, 0] @ constant(_FACING_CAMERA).T
    return turn, turn[..., 2]


def _before_camera(points: Tensor, trunk_m: Tensor) -> tuple[Tensor, Tensor, Tensor]:
    """Places from the camera, and its focal length and larger side in pixels."""
    clips = len(points)
    larger = torch.where(torch.rand(clips) < 0.8, 640.0, 480.0)
    focal = larger * torch.exp(_uniform(-0.45, 0.45, clips))
    tall_m = 3.6 * trunk_m
    away = focal * tall_m / (larger * _uniform(0.35, 0.95, clips))
    off = torch.randn(clips, 2) * constant((0.08, 0.06)) * (away * larger / focal)[:, None]
    middle = (points.amax((1, 2)) + points.amin((1, 2))) / 2
    place = torch.cat([off, torch.maximum(away, tall_m / 2)[:, None]], dim=1) - middle
    return points + place[:, None, None], focal, larger


def _truth_of(places: Tensor, axes: Tensor, gravity: Tensor) -> Tensor:
    """Truth (b, t, len(TARGETS)) of the right arm; NaN what is not known of such people."""
    upper = places[:, :, 6] - places[:, :, 4]
    fore = places[:, :, 8] - places[:, :, 6]
    known = [torch.einsum("btij,btj->bti", axes, unit(v)) for v in (upper, fore)]
    vertical = torch.einsum("btij,bj->bti", axes, gravity)
    unknown = torch.full_like(places[:, :, 0, :1], torch.nan)
    return torch.cat([*known, *[unknown] * 2, vertical, *[unknown] * 5], dim=-1)
