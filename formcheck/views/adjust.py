"""Bundle adjustment: cameras, bones and all joints at once, so that both pictures fit.

Levenberg-Marquardt with the joints of each time eliminated (Triggs et al. 2000, Bundle adjustment: a
modern synthesis); residuals count by Cauchy's robust cost. The joints are held together by bones of
constant length and, loosely, by the landmarks that the pose model gives in space, so that a joint
that one camera does not see is still about where it must be.
"""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.views.equations import Equations, Residuals, normal_equations, residuals_of
from formcheck.views.observation import TRUNK_M, Observation
from formcheck.views.rig import OFFSET, SHARED, Rig
from formcheck.views.starts import placed

_FIRST_DAMPING, _LEAST_DAMPING, _MOST_DAMPING, _DAMPING_STEP = 1e-3, 1e-6, 1e5, 6.0
"""Damping of the first step, its bounds, and by how much it changes. Mechanical."""
_CONVERGED = 1e-4
"""A step that lowers the cost by a smaller share is the last one. Mechanical."""
_TINY = 1e-9
"""Keeps the shared equations solvable. Mechanical."""
_NEAREST_M = 0.3
"""No joint is nearer to a camera. Mechanical."""


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """Where an adjustment ended: ``points_m`` (n, j, 3) in the first camera's axes; ``cost`` a time;
    ``residual`` (2, n, j) in trunk lengths, NaN where a camera does not know a joint.
    """

    rig: Rig
    points_m: FloatArray
    cost: float
    residual: FloatArray


def adjust(
    a: Observation,
    b: Observation,
    rig: Rig,
    usual_bones_m: FloatArray,
    *,
    points_m: FloatArray | None = None,
    steps: int = 25,
    offset: bool = False,
    cameras: bool = True,
) -> Fit:
    """Adjust the rig and the joints to two observations at the same times.

    ``usual_bones_m`` (KINDS,) is what the bones are drawn to. Without ``cameras`` the rig stays as
    it is; with ``offset`` the clock of the second camera is adjusted too.
    """
    points = first_points(a, b, rig) if points_m is None else points_m
    free = np.zeros(SHARED, dtype=bool)
    free[:] = cameras
    free[OFFSET] = cameras and offset
    now = residuals_of(a, b, rig, points, usual_bones_m)
    damping = _FIRST_DAMPING
    for _ in range(steps):
        equations = normal_equations(now)
        tried = None
        while damping < _MOST_DAMPING:
            shared, own = _step(equations, free, damping)
            tried = residuals_of(a, b, rig.changed(shared), points + own, usual_bones_m)
            if tried.cost < now.cost:
                break
            damping *= _DAMPING_STEP
        if tried is None or not tried.cost < now.cost:
            break
        gained = now.cost - tried.cost
        rig, points, now = tried.rig, tried.points_m, tried
        damping = max(damping / _DAMPING_STEP, _LEAST_DAMPING)
        if gained < _CONVERGED * now.cost:
            break
    return _fit(now)


def _step(equations: Equations, free: np.ndarray, damping: float) -> tuple[FloatArray, FloatArray]:
    """The damped step of the shared parameters (SHARED,) and of the joints (n, j, 3)."""
    own, count = equations.own, equations.own.shape[1]
    eye = np.eye(count)
    scale = np.einsum("nii->ni", own)
    damped = own + eye * (damping * scale[:, :, None] + 1e-3)
    between = equations.between[:, :, free]
    solved = np.linalg.solve(
        damped, np.concatenate([between, equations.own_slope[:, :, None]], axis=2)
    )
    coupled, alone = solved[..., :-1], solved[..., -1]
    shared = np.zeros(len(free))
    if free.any():
        kept = equations.shared[np.ix_(free, free)]
        reduced = kept + np.diag(np.diag(kept)) * damping
        reduced = reduced - np.einsum("nij,nik->jk", between, coupled)
        slope = equations.shared_slope[free] - np.einsum("nij,ni->j", between, alone)
        shared[free] = -np.linalg.solve(reduced + _TINY * np.eye(len(slope)), slope)
    moved = -(alone + coupled @ shared[free])
    return shared, moved.reshape(len(own), -1, 3)


def _fit(now: Residuals) -> Fit:
    sizes = [
        np.where(view.known, np.linalg.norm(view.misfit_px, axis=2) / view.unit_px, np.nan)
        for view in now.views
    ]
    return Fit(now.rig, now.points_m, now.cost / max(len(now.points_m), 1), np.stack(sizes))


def first_points(a: Observation, b: Observation, rig: Rig) -> FloatArray:
    """The joints (n, j, 3) as the landmarks in space have them, laid over both pictures."""
    first, second = (
        one.world_m + placed(one, focal)[:, None]
        for one, focal in zip((a, b), rig.focal_px, strict=True)
    )
    second = (second - rig.translation_m) @ rig.rotation
    known = [np.isfinite(points).all(axis=2, keepdims=True) for points in (first, second)]
    total = known[0].astype(float) + known[1]
    points = np.nan_to_num(first) * known[0] + np.nan_to_num(second) * known[1]
    points = points / np.maximum(total, 1)
    middle = np.sum(points, axis=1, keepdims=True) / np.maximum(
        np.sum(total > 0, axis=1, keepdims=True), 1
    )
    far = np.array([0.0, 0.0, 4 * TRUNK_M])
    points = np.where(total > 0, points, np.where(middle[..., 2:] > 0, middle, far))
    points[..., 2] = np.maximum(points[..., 2], _NEAREST_M)
    return np.asarray(points)
