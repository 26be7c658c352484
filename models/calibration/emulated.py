"""What the pose model would make of people whom it was never shown: an emulator of its errors.

From rendered clips it takes where landmarks lie on the body instead of in the joints (DEFINITION_...),
what share of depth the model's space shows, and, clip by clip, what is left: tracks of errors over time with
the visibility that goes with them. A random person (``anybody.py``) gets the track of a random clip, more or
less of it, and depth of a random slope for each segment: from hardly any to all. One in five is read
nearly without error, so that depth which agrees with the picture is believed.
"""

from dataclasses import dataclass

import torch
from torch import Tensor

from models.calibration.altered import Shown, projected, smooth_noise
from models.calibration.anybody import people
from models.calibration.material import Material
from models.calibration.seen import LEFT_HIP, LEFT_SHOULDER, Seen, constant

SLOPES = (0.70, 0.87, 0.50, 0.50, 0.40, 0.40, 0.70)
"""Share of true depth that rendered clips show: trunk, shoulders and hips across, upper arms, forearms,
legs; left, then right."""
_MOST = 0.7
"""Errors beyond this are no errors but other people, or sides exchanged."""
_TRUNK, _ACROSS, _LEFT_UPPER, _RIGHT_UPPER, _LEFT_FORE, _RIGHT_FORE, _LEGS = range(7)


@dataclass(slots=True)
class Errors:
    """Of some clips: errors in the picture (b, t, 17, 2) and in space (b, t, 17, 3), in trunk lengths."""

    flat: Tensor
    solid: Tensor


def definition_of(clips: Material) -> Tensor:
    """Where the landmarks of rendered people lie (17, 3), from the joints they mark, in the trunk's axes
    and lengths: least squares of what the picture shows.
    """
    every = torch.arange(len(clips.lengths))
    normal, right_hand = torch.zeros(17, 3, 3), torch.zeros(17, 3)
    for some in every.split(64):
        lengths = clips.lengths[some]
        index = torch.arange(int(lengths.max())).expand(len(some), -1)
        index = torch.minimum(index, lengths[:, None] - 1)
        for left in (False, True):
            shown = clips.shown(some, torch.full((len(some),), left), index, lengths)
            known = clips.known[clips.starts[some][:, None] + index] & shown.seen.there
            flat, scale = projected(shown.places, shown.focal_px)
            off = (shown.seen.image - flat) / scale / _trunk_m(shown.places)
            basis = shown.axes[..., :2][known]
            normal += torch.einsum("nik,njk->ij", basis, basis)
            right_hand += torch.einsum("nik,njk->ji", basis, off[known].clamp(-0.5, 0.5))
    return torch.linalg.solve(normal, right_hand[..., None])[..., 0]


def errors_of(shown: Shown, definition: Tensor) -> Errors:
    """What is left of a clip's errors once landmarks are where they lie and depth has its usual slope."""
    trunk_m = _trunk_m(shown.places)
    marks = shown.places + _offset(shown.axes, definition) * trunk_m
    flat, scale = projected(marks, shown.focal_px)
    slopes = constant(SLOPES).expand(len(marks), -1)
    size = _typical_trunk(shown.seen.world) / _typical_trunk(flattened(marks, slopes))
    solid = shown.seen.world / size[:, None, None, None] - flattened(marks, slopes)
    flat_off = (shown.seen.image - flat) / scale / trunk_m
    return Errors(flat_off.clamp(-_MOST, _MOST), (solid / trunk_m).clamp(-_MOST, _MOST))


def emulated(donors: Shown, definition: Tensor, rate_hz: float) -> Shown:
    """Random people as the pose model might see them, with the errors of clips ``donors``."""
    clips, count = donors.seen.image.shape[:2]
    top = donors.places[:, :, LEFT_SHOULDER : LEFT_SHOULDER + 2].mean(2, keepdim=True)
    heads = torch.einsum("btij,btkj->btki", donors.axes, donors.places[:, :, :3] - top)
    made = people(clips, count, rate_hz, heads / _trunk_m(donors.places))
    wrong, kind = errors_of(donors, definition), torch.rand(clips)
    trunk_m = made.trunk_m[:, None, None, None]
    share = (torch.rand(clips) * 1.2)[:, None, None, None]
    marks = made.places + _offset(made.axes, definition) * trunk_m * share
    flat, scale = projected(marks, made.focal_px)
    least, most = torch.where(kind < 0.2, 0.0, 0.2), torch.where(kind < 0.2, 0.3, 1.1)
    much = (least + (most - least) * torch.rand(clips))[:, None, None, None]
    flat_off, solid_off = _more_errors(wrong, kind)
    image = flat + much * flat_off * trunk_m * scale
    world = flattened(marks, _slopes(kind)) + much * solid_off * trunk_m
    sure = (torch.rand(clips) < 0.3)[:, None, None]
    visibility = torch.where(sure, 0.97, donors.seen.visibility)
    seen = Seen(image, world, visibility, donors.seen.lengths, made.larger, donors.seen.rate_hz)
    return Shown(seen, made.places, made.axes, made.truth, made.focal_px)


def _slopes(kind: Tensor) -> Tensor:
    """Share of depth (b, 7) that is shown of each segment: nearly all, some, or as of rendered people."""
    clips = len(kind)
    true = 1 + 0.05 * torch.randn(clips, 7)
    some = torch.empty(clips, 1).uniform_(0.2, 0.95) * torch.exp(0.25 * torch.randn(clips, 7))
    some = torch.cat([some[:, :1].clamp_min(0.3), some[:, 1:2].clamp_min(0.5), some[:, 2:]], dim=1)
    as_rendered = constant(SLOPES) + 0.3 * torch.randn(clips, 7)
    kind = kind[:, None]
    return torch.where(kind < 0.2, true, torch.where(kind < 0.7, some, as_rendered)).clamp(
        -0.3, 1.2
    )


def _more_errors(wrong: Errors, kind: Tensor) -> tuple[Tensor, Tensor]:
    """The errors of a clip, those in space of half the clips halved, and landmarks a little off besides."""
    clips, count = wrong.flat.shape[:2]
    size = (torch.exp(0.6 * torch.randn(clips)) * (torch.rand(clips) < 0.6))[:, None, None, None]
    fixed = torch.randn(clips, 1, 17, 3) * constant((0.025, 0.025, 0.06))
    drift = smooth_noise(clips, count, 17 * 3, 9).unflatten(2, (17, 3)) * constant(
        (0.01, 0.01, 0.03)
    )
    more = size * (fixed + drift)
    flat = wrong.flat + more[..., :2] + 0.006 * size * torch.randn_like(wrong.flat)
    depth = torch.where(kind > 0.7, 1.0, torch.where(torch.rand(clips) < 0.5, 0.4, 1.0))
    solid = wrong.solid + more + 0.01 * size * torch.randn_like(wrong.solid)
    return flat, solid * depth[:, None, None, None]


def flattened(places: Tensor, slopes: Tensor) -> Tensor:
    """Places (b, t, 17, 3) from the hips, with a share (b, 7) of each segment's depth."""
    hips = places[:, :, LEFT_HIP : LEFT_HIP + 2].mean(2, keepdim=True)
    about = places - hips
    deep = about[..., 2]
    of = [slope[:, None] for slope in slopes.unbind(1)]
    top = deep[:, :, 3:5].mean(2)
    z: dict[int, Tensor] = {k: of[_TRUNK] * deep[:, :, k] for k in range(3)}
    for side, (upper, fore) in enumerate(((_LEFT_UPPER, _LEFT_FORE), (_RIGHT_UPPER, _RIGHT_FORE))):
        shoulder, elbow, wrist, index = (3 + side, 5 + side, 7 + side, 9 + side)
        hip, knee, ankle = 11 + side, 13 + side, 15 + side
        z[shoulder] = of[_TRUNK] * top + of[_ACROSS] * (deep[:, :, shoulder] - top)
        z[hip] = of[_ACROSS] * deep[:, :, hip]
        for far, near, slope in (
            (elbow, shoulder, upper),
            (wrist, elbow, fore),
            (index, wrist, fore),
            (knee, hip, _LEGS),
            (ankle, knee, _LEGS),
        ):
            z[far] = z[near] + of[slope] * (deep[:, :, far] - deep[:, :, near])
    depth = torch.stack([z[k] for k in range(17)], dim=2)
    return torch.cat([about[..., :2], depth[..., None]], dim=-1)


def _offset(axes: Tensor, definition: Tensor) -> Tensor:
    return torch.einsum("btij,ki->btkj", axes, definition)


def _trunk(points: Tensor) -> Tensor:
    middles = [points[:, :, k : k + 2].mean(2) for k in (LEFT_SHOULDER, LEFT_HIP)]
    return (middles[0] - middles[1]).norm(dim=-1)


def _typical_trunk(points: Tensor) -> Tensor:
    return _trunk(points).median(dim=1).values


def _trunk_m(places: Tensor) -> Tensor:
    return _typical_trunk(places)[:, None, None, None]
