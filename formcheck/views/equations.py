"""Residuals of the bundle adjustment and the normal equations that they lead to."""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.views.observation import TRUNK_M, Observation, bone_belief, bone_vectors
from formcheck.views.rig import (
    BONES,
    FOCAL,
    FOCAL_SD,
    OFFSET,
    SHARED,
    SHIFT,
    TURN,
    Rig,
    usual_focal_px,
)
from formcheck.views.skeleton import ENDS, KIND, SD_M, STARTS, TRUNK_KIND

LANDMARK_SD = 0.03
"""How far a landmark that is seen lies from its joint in the picture, in trunk lengths; angles do not
change by a degree for 0.015-0.05. Read on rendered people."""
SPACE_SD_M = 0.12
"""How far the end of a bone in space is from where the pose model has it. Read on rendered people."""
BONES_SD = 0.05
"""How far bones differ from the lengths in the pose model's space, as a share. A proposal."""
SCALE_SD_M = 0.002
"""How firmly the trunk gives the scale. Mechanical."""
PICTURE_BEND, BONE_BEND, SPACE_BEND = 2.5, 3.0, 2.0
"""Deviations in standard deviations from which Cauchy's cost bends: further ones count less and less.
Common practice, no source."""
_NEAREST_M = 0.1
"""Nearer to a camera than this nothing is projected. Mechanical."""


@dataclass(frozen=True, slots=True, eq=False)
class _View:
    """Residuals of one camera: ``misfit_px`` and in standard deviations ``residual`` (n, j, 2), with
    ``weight`` (n, j), the joints in its axes, their flat positions and its focal length.
    """

    known: BoolArray
    misfit_px: FloatArray
    sd_px: FloatArray
    residual: FloatArray
    weight: FloatArray
    points_m: FloatArray
    depth_m: FloatArray
    flat: FloatArray
    focal_px: float
    unit_px: float
    velocity_px: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Residuals:
    """All residuals at a rig and joints, with their weights and the robust ``cost`` of all."""

    rig: Rig
    points_m: FloatArray
    views: tuple[_View, _View]
    bone_along: FloatArray
    bone_residual: FloatArray
    bone_weight: FloatArray
    space_slope: FloatArray
    space_weight: FloatArray
    prior: FloatArray
    prior_slope: FloatArray
    cost: float


@dataclass(frozen=True, slots=True, eq=False)
class Equations:
    """Gauss-Newton equations: of the joints of each time ``own`` (n, 3j, 3j) and ``own_slope``
    (n, 3j), of the shared parameters ``shared`` (s, s) and ``shared_slope`` (s,), and what couples
    them, ``between`` (n, 3j, s).
    """

    own: FloatArray
    own_slope: FloatArray
    between: FloatArray
    shared: FloatArray
    shared_slope: FloatArray


def _cauchy(square: FloatArray, bend: float) -> tuple[FloatArray, FloatArray]:
    """Cost and weight of squared residuals."""
    share = square / bend**2
    return bend**2 * np.log1p(share), 1 / (1 + share)


def residuals_of(
    a: Observation, b: Observation, rig: Rig, points_m: FloatArray, usual_bones_m: FloatArray
) -> Residuals:
    """Every residual of joints (n, j, 3) and a rig to two observations at the same times."""
    in_second = points_m @ rig.rotation.T + rig.translation_m
    first, cost_a = _view(a, points_m, rig.focal_px[0], 0.0)
    second, cost_b = _view(b, in_second, rig.focal_px[1], rig.offset_s)
    along = points_m[:, ENDS] - points_m[:, STARTS]
    length = np.linalg.norm(along, axis=2) + 1e-9
    bone = (length - rig.bones_m[KIND]) / SD_M
    bone_cost, bone_weight = _cauchy(bone**2, BONE_BEND)
    space_slope, space_weight = np.zeros_like(along), np.zeros(along.shape[:2])
    space_cost = 0.0
    for one, rotation in ((a, np.eye(3)), (b, rig.rotation)):
        known = bone_belief(one) > 0
        off = (along - np.nan_to_num(bone_vectors(one.world_m)) @ rotation) / SPACE_SD_M
        cost, weight = _cauchy(np.sum(off**2, axis=2), SPACE_BEND)
        weight = np.where(known, weight, 0.0)
        space_slope += weight[..., None] * off / SPACE_SD_M
        space_weight += weight / SPACE_SD_M**2
        space_cost += float(np.sum(cost[known]))
    prior, slope, prior_cost = _prior(a, b, rig, usual_bones_m)
    return Residuals(
        rig=rig,
        points_m=points_m,
        views=(first, second),
        bone_along=along / length[..., None] / SD_M[:, None],
        bone_residual=bone,
        bone_weight=bone_weight,
        space_slope=space_slope,
        space_weight=space_weight,
        prior=prior,
        prior_slope=slope,
        cost=cost_a + cost_b + float(bone_cost.sum()) + space_cost + prior_cost,
    )


def _view(
    seen: Observation, points_m: FloatArray, focal_px: float, offset_s: float
) -> tuple[_View, float]:
    depth = np.maximum(points_m[..., 2], _NEAREST_M)
    flat = points_m[..., :2] / depth[..., None]
    misfit = focal_px * flat - seen.image_px - offset_s * seen.velocity_px
    known = seen.known
    sd_px = LANDMARK_SD * seen.unit_px / np.where(known, seen.belief, 1.0)
    residual = misfit / sd_px[..., None]
    cost, weight = _cauchy(np.sum(residual**2, axis=2), PICTURE_BEND)
    view = _View(
        known=known,
        misfit_px=misfit,
        sd_px=sd_px,
        residual=residual,
        weight=np.where(known, weight, 0.0),
        points_m=points_m,
        depth_m=depth,
        flat=flat,
        focal_px=float(focal_px),
        unit_px=seen.unit_px,
        velocity_px=seen.velocity_px,
    )
    return view, float(np.sum(cost[known]))


def _prior(
    a: Observation, b: Observation, rig: Rig, usual_bones_m: FloatArray
) -> tuple[FloatArray, FloatArray, float]:
    """Weights (SHARED,) and slopes (SHARED,) of what is known beforehand, and its cost."""
    weight, slope = np.zeros(SHARED), np.zeros(SHARED)
    focal = np.log(rig.focal_px / usual_focal_px(a, b))
    weight[FOCAL], slope[FOCAL] = 1 / FOCAL_SD**2, focal / FOCAL_SD**2
    bones = np.log(rig.bones_m / usual_bones_m)
    weight[BONES] = 1 / (BONES_SD * rig.bones_m) ** 2
    slope[BONES] = bones / (BONES_SD**2 * rig.bones_m)
    trunk, off = BONES.start + TRUNK_KIND, rig.bones_m[TRUNK_KIND] - TRUNK_M
    weight[trunk] += 1 / SCALE_SD_M**2
    slope[trunk] += off / SCALE_SD_M**2
    cost = np.sum((focal / FOCAL_SD) ** 2) + np.sum((bones / BONES_SD) ** 2)
    return weight, slope, float(cost + (off / SCALE_SD_M) ** 2)


def normal_equations(now: Residuals, bias_sd: float = 0.0) -> Equations:
    """The equations of a Gauss-Newton step.

    With ``bias_sd`` (in trunk lengths) each joint may lie off by a constant in each picture, so
    that the shared parameters are followed by these (2 cameras, j, 2).
    """
    count, joints = now.points_m.shape[:2]
    more = 4 * joints if bias_sd > 0 else 0
    size = SHARED + more
    total = Equations(
        np.zeros((count, joints, 3, joints, 3)),
        np.zeros((count, joints, 3)),
        np.zeros((count, joints, 3, size)),
        np.zeros((size, size)),
        np.zeros(size),
    )
    each = np.arange(joints)
    for place, view in enumerate(now.views):
        by_point, by_shared = _slopes(view, now.rig, place, size, biased=more > 0)
        weighted = by_point * view.weight[..., None, None]
        total.own[:, each, :, each, :] += np.moveaxis(
            np.einsum("nkri,nkrj->nkij", weighted, by_point), 1, 0
        )
        root = np.sqrt(view.weight)[..., None]
        rows = (by_shared * root[..., None]).reshape(-1, size)
        total.own_slope[:] += np.einsum("nkri,nkr->nki", weighted, view.residual)
        total.between[:] += np.einsum("nkri,nkrs->nkis", weighted, by_shared, optimize=True)
        total.shared[:] += rows.T @ rows
        total.shared_slope[:] += rows.T @ (view.residual * root).reshape(-1)
    _add_bones(now, total)
    known = np.arange(SHARED)
    total.shared[known, known] += now.prior
    total.shared_slope[:SHARED] += now.prior_slope
    if more:
        biases = np.arange(SHARED, size)
        total.shared[biases, biases] += 1 / bias_sd**2
    wide = 3 * joints
    return Equations(
        total.own.reshape(count, wide, wide),
        total.own_slope.reshape(count, wide),
        total.between.reshape(count, wide, size),
        total.shared,
        total.shared_slope,
    )


def _slopes(
    view: _View, rig: Rig, place: int, size: int, *, biased: bool
) -> tuple[FloatArray, FloatArray]:
    """Derivatives of a camera's residuals by the joints (n, j, 2, 3) and by what is shared
    (n, j, 2, size).
    """
    count, joints = view.depth_m.shape
    by_point = np.zeros((count, joints, 2, 3))
    scale = view.focal_px / view.depth_m
    by_point[..., 0, 0] = by_point[..., 1, 1] = scale
    by_point[..., 2] = -scale[..., None] * view.flat
    by_point /= view.sd_px[..., None, None]
    by_shared = np.zeros((count, joints, 2, size))
    by_shared[..., FOCAL.start + place] = view.focal_px * view.flat / view.sd_px[..., None]
    if biased:
        for joint in range(joints):
            for axis in range(2):
                column = SHARED + (place * joints + joint) * 2 + axis
                by_shared[:, joint, axis, column] = -view.unit_px / view.sd_px[:, joint]
    if place == 0:
        return by_point, by_shared
    arms = view.points_m - rig.translation_m
    turned = np.zeros((count, joints, 3, 3))
    turned[..., 0, 1], turned[..., 0, 2] = arms[..., 2], -arms[..., 1]
    turned[..., 1, 0], turned[..., 1, 2] = -arms[..., 2], arms[..., 0]
    turned[..., 2, 0], turned[..., 2, 1] = arms[..., 1], -arms[..., 0]
    by_shared[..., TURN] = by_point @ turned
    by_shared[..., SHIFT] = by_point
    by_shared[..., OFFSET] = -view.velocity_px / view.sd_px[..., None]
    return by_point @ rig.rotation, by_shared


def _add_bones(now: Residuals, total: Equations) -> None:
    """Add what bones of constant length and the landmarks in space ask for; joints (n, j, 3)."""
    for bone, (start, end, kind) in enumerate(zip(STARTS, ENDS, KIND, strict=True)):
        unit, weight = now.bone_along[:, bone], now.bone_weight[:, bone, None]
        block = np.einsum("ni,nj->nij", unit * weight, unit)
        block += now.space_weight[:, bone, None, None] * np.eye(3)
        residual = now.bone_residual[:, bone, None]
        pull = unit * weight * residual + now.space_slope[:, bone]
        column, by_length = BONES.start + kind, -1 / SD_M[bone]
        for one, sign in ((end, 1.0), (start, -1.0)):
            other = start if one == end else end
            total.own[:, one, :, one] += block
            total.own[:, one, :, other] -= block
            total.own_slope[:, one] += sign * pull
            total.between[:, one, :, column] += sign * by_length * unit * weight
        total.shared[column, column] += float(weight.sum()) * by_length**2
        total.shared_slope[column] += by_length * float((weight * residual).sum())
