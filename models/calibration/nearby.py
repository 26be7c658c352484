"""Near copies of a made clip: another posture, body and camera close by, without rendering again.

The pose model's landmarks of a clip are moved by as much as the true joints would move if the arms
were held a little otherwise, the body were built a little otherwise and the camera stood elsewhere.
What the pose model got wrong stays as it was: small changes do not change that much. So one rendered
clip teaches its surroundings, not only itself. Of a true change across the picture the pose model's
space shows nearly all, of one along the line of sight only a part (SHOWN).
"""

import copy
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from models.calibration.body import Arm, Body, Z
from models.calibration.cameras import NEAR_M, Camera
from models.calibration.motions import Trunk, forearm_points, wander
from models.calibration.rotations import rotate, unit
from models.calibration.scenes import SETS, Scene, bodies_of, plan
from models.calibration.shards import Clip
from models.calibration.truth import places_of, truth_of

Array = NDArray[np.float64]

SEED = 77
SHOWN = np.array(
    [
        *[(0.95, 0.98, 0.68)] * 3,
        *[(1.00, 1.05, 0.85)] * 2,
        *[(0.87, 0.97, 0.72)] * 2,
        *[(0.95, 0.97, 0.56)] * 2,
        *[(0.92, 0.94, 0.48)] * 2,
        *[(0.82, 0.62, 0.90)] * 2,
        *[(1.00, 0.98, 0.70)] * 2,
        *[(1.00, 0.90, 0.72)] * 2,
    ]
)
"""Share of a joint's true place (right, down, away) that the pose model's space shows: slope of the
regression over 80 clips of ``loose``, in the order of ``shards.KEPT``."""

_TURN_DEG, _DRIFT_DEG = (4.0, 20.0), (1.5, 8.0)
"""How far arms are held otherwise, the same all through a clip, and how far they wander (standard
deviations, drawn for each arm between these)."""
_PLANTED_DEG = 8.0
_TRIES = 5
_TOO_BENT_DEG = 152.0


def near_copies(folder: Path, clip: Clip, count: int) -> Iterator[Clip]:
    """``count`` clips close to a made one; the same ones every time."""
    set_name, index = clip.about["set"], clip.about["index"]
    scene = plan(folder, set_name, index)
    rng = np.random.default_rng([SEED, SETS[set_name], index])
    points = places_of(scene.body, scene.body.solve(scene.motion))
    was = _seen(points, scene.camera, scene.every)
    names = bodies_of(set_name)
    for _ in range(count):
        with np.load(folder / f"{names[rng.integers(len(names))]}.npz") as other:
            near = _near_scene(rng, scene, other["heads"], points.mean((0, 1)))
        pose = near.body.solve(near.motion)
        now = _seen(places_of(near.body, pose), near.camera, scene.every)
        truth = truth_of(near.body, near.motion, pose, near.camera)[:: scene.every]
        image = now[0] + (clip.image - was[0]) * (now[2] / was[2])
        world = clip.world + SHOWN * (now[1] - was[1])
        places = now[3]
        yield Clip(clip.about, image, world, clip.visibility, places, truth)


def _seen(points: Array, camera: Camera, every: int) -> tuple[Array, Array, Array, Array]:
    """Places in the picture, in space about the hips in camera axes, pixels a metre there, and places
    from the camera in its axes.
    """
    points = points[::every]
    from_camera = camera.into(points)
    hips = points[:, 11:13].mean(axis=1, keepdims=True)
    scale = camera.focal_px / np.maximum(from_camera[..., 2:], NEAR_M)
    return camera.project(points), (points - hips) @ camera.axes.T, scale, from_camera


def _near_scene(rng: np.random.Generator, scene: Scene, heads: Array, middle: Array) -> Scene:
    body = _between(scene.body, heads, rng.uniform(0, 0.5))
    motion = copy.copy(scene.motion)
    trunk = Trunk.of(scene.body)
    motion.arms = {s: _near_arm(rng, body, trunk, s, arm) for s, arm in scene.motion.arms.items()}
    motion.lean_left = motion.lean_left + rng.normal(0, 2)
    motion.lean_forward = motion.lean_forward + rng.normal(0, 3)
    motion.turn_left = motion.turn_left + rng.normal(0, 3)
    motion.clavicle_lift = {s: v + abs(rng.normal(0, 2.5)) for s, v in motion.clavicle_lift.items()}
    motion.clavicle_forward = {
        s: v + rng.normal(0, 2.5) for s, v in motion.clavicle_forward.items()
    }
    return replace(scene, body=body, motion=motion, camera=_near_camera(rng, scene.camera, middle))


def _between(body: Body, heads: Array, share: float) -> Body:
    """A body some way from one to another's bone heads; its skin, which only hides or shows, stays."""
    near = copy.copy(body)
    near.heads = body.heads + share * (heads - body.heads)
    near.settle()
    return near


def _near_camera(rng: np.random.Generator, camera: Camera, middle: Array) -> Camera:
    """A camera moved around and along its line to the subject, with a little more or less zoom."""
    turn = rotate(Z, rng.normal(0, 12, 1))[0] @ rotate(camera.axes[0], rng.normal(0, 4, 1))[0]
    return replace(
        camera,
        place=middle + turn @ (camera.place - middle) * np.exp(rng.normal(0, 0.15)),
        axes=camera.axes @ turn.T,
        fov_deg=float(np.clip(camera.fov_deg * np.exp(rng.normal(0, 0.1)), 35, 80)),
    )


def _near_arm(rng: np.random.Generator, body: Body, trunk: Trunk, side: str, arm: Arm) -> Arm:
    """The arm held otherwise, with its bend kept or changed; as it was if that goes through the body."""
    was_inside = _inside(trunk, body, side, arm.upper, arm.fore)
    turn, drift = (float(np.exp(rng.uniform(*np.log(span)))) for span in (_TURN_DEG, _DRIFT_DEG))
    if arm.hand is not None:
        turn, drift = min(turn, _PLANTED_DEG), 1.0
    for _ in range(_TRIES):
        first, second = (_drawn(rng, len(arm.upper), turn, drift) for _ in range(2))
        upper = _turned(arm.upper, first)
        if rng.random() < 0.5:
            fore = _turned(_turned(arm.fore, first), 0.7 * second)
        else:
            fore = _turned(arm.fore, second)
        bends = np.sum(upper * fore, axis=1).min() > np.cos(np.radians(_TOO_BENT_DEG))
        if bends and (was_inside or not _inside(trunk, body, side, upper, fore)):
            hinge = unit(np.cross(upper, fore) + 1e-3 * arm.hinge)
            return Arm(upper, fore, hinge, arm.pronation_deg, arm.hand)
        turn, drift = 0.6 * turn, 0.6 * drift
    return arm


def _drawn(rng: np.random.Generator, frames: int, turn_deg: float, drift_deg: float) -> Array:
    """Rotation vectors (n, 3) in degrees: one for the whole clip, and a slow drift."""
    drift = [wander(rng, frames, drift_deg, rng.uniform(0.3, 0.8)) for _ in range(3)]
    return np.asarray(rng.normal(0, turn_deg, 3) + np.stack(drift, axis=1))


def _turned(directions: Array, vectors_deg: Array) -> Array:
    """Directions (n, 3) turned by rotation vectors (n, 3) in degrees."""
    angle = np.linalg.norm(vectors_deg, axis=1, keepdims=True)
    axis = vectors_deg / np.maximum(angle, 1e-9)
    cosine, sine = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    along = axis * np.sum(axis * directions, axis=1, keepdims=True)
    return unit(directions * cosine + np.cross(axis, directions) * sine + along * (1 - cosine))


def _inside(trunk: Trunk, body: Body, side: str, upper: Array, fore: Array) -> bool:
    """Whether the forearm or hand goes through the trunk or head, at a few times."""
    return trunk.holds(forearm_points(body, side, upper[::25], fore[::25]))
