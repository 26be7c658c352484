"""Cameras: where a phone might stand in a small room, and how a point falls into its picture."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.calibration.rotations import unit

Array = NDArray[np.float64]
NEAR_M, FAR_M = 0.1, 20.0
_LOWEST_M = 0.05


@dataclass(frozen=True, slots=True)
class Camera:
    """A pinhole camera. ``axes`` (3, 3) has its right, down and away directions as rows."""

    place: Array
    axes: Array
    fov_deg: float
    """Field of view along the longer side of the picture."""
    width: int
    height: int

    @property
    def focal_px(self) -> float:
        """Focal length in pixels."""
        return float(max(self.width, self.height) / 2 / np.tan(np.radians(self.fov_deg) / 2))

    def into(self, points: Array) -> Array:
        """Room points (..., 3) in the camera's axes, from the camera."""
        return np.asarray((points - self.place) @ self.axes.T)

    def project(self, points: Array) -> Array:
        """Picture positions (..., 2) in pixels of room points (..., 3)."""
        seen = self.into(points)
        flat = seen[..., :2] / np.maximum(seen[..., 2:], NEAR_M) * self.focal_px
        return np.asarray(flat + np.array([self.width, self.height]) / 2)

    def clip_matrix(self) -> Array:
        """The 4x4 matrix from room points to OpenGL clip coordinates."""
        right, down, away = self.axes
        view = np.eye(4)
        view[:3, :3] = right, -down, -away
        view[:3, 3] = -view[:3, :3] @ self.place
        lens = np.zeros((4, 4))
        lens[0, 0], lens[1, 1] = 2 * self.focal_px / self.width, 2 * self.focal_px / self.height
        lens[2, 2] = (FAR_M + NEAR_M) / (NEAR_M - FAR_M)
        lens[2, 3] = 2 * FAR_M * NEAR_M / (NEAR_M - FAR_M)
        lens[3, 2] = -1
        return np.asarray(lens @ view)


def sample_yaw_deg(rng: np.random.Generator) -> float:
    """Turn of the subject to the camera: mostly front within 60, then sides, then backs."""
    kind = rng.choice(3, p=[0.5, 0.28, 0.22])
    sign = rng.choice([-1.0, 1.0])
    if kind == 0:
        return float(rng.uniform(-60, 60))
    return float(sign * (rng.uniform(60, 120) if kind == 1 else rng.uniform(120, 180)))


def sample_camera(
    rng: np.random.Generator, joints: Array, low: bool, *, anywhere: bool = False
) -> Camera:
    """A camera that sees most of the joints (n, k, 3) of a clip; lying people in landscape.

    ``anywhere``: also from high above or the floor, and held askew, as nobody was advised to film.
    """
    best, best_share = None, -1.0
    least_size = 0.15 if rng.random() < 0.12 else rng.uniform(0.3, 0.55)
    for _ in range(60):
        camera = _any_camera(rng, joints, low, anywhere)
        seen = camera.project(joints)
        inside = (seen > 6) & (seen < np.array([camera.width, camera.height]) - 6)
        share = float(inside.all(-1).mean())
        size = float(np.ptp(seen, axis=(0, 1)).max()) / max(camera.width, camera.height)
        share -= max(0.0, least_size - size)
        if share > best_share:
            best, best_share = camera, share
        if share > rng.uniform(0.9, 1.0):
            break
    assert best is not None
    return best


def _any_camera(rng: np.random.Generator, joints: Array, low: bool, anywhere: bool) -> Camera:
    middle = (joints.min((0, 1)) + joints.max((0, 1))) / 2
    if anywhere:
        place, roll_deg = _place_anywhere(rng, middle), _roll_anywhere_deg(rng)
    else:
        distance = rng.uniform(1.8, 5.0)
        height = rng.uniform(0.2, 1.5 if low else 1.8)
        place = middle + np.array([0, -distance, 0])
        place[2] = height
        roll_deg = None
    target = middle + rng.normal(0, [0.12, 0, 0.1])
    away = unit(target - place)
    right = unit(np.cross(away, [0, 0, 1]))
    down = np.cross(away, right)
    roll = np.radians(np.clip(rng.normal(0, 2), -5, 5) if roll_deg is None else roll_deg)
    turned = np.cos(roll) * right + np.sin(roll) * down
    axes = np.stack([turned, np.cross(away, turned), away])
    landscape = low or rng.random() < 0.25
    long, short = (640, 360) if rng.random() < 0.8 else (480, 272)
    if rng.random() < 0.2:
        long, short = 640, 480
    width, tall = (long, short) if landscape else (short, long)
    return Camera(place, axes, float(rng.uniform(40, 75)), width, tall)


def _place_anywhere(rng: np.random.Generator, middle: Array) -> Array:
    """Up to 50 degrees above the middle of the subject, or below it down to the floor."""
    pitch = np.radians(rng.uniform(-25, 20) if rng.random() < 0.5 else rng.uniform(0, 50))
    place = middle + rng.uniform(1.6, 6.0) * np.array([0, -np.cos(pitch), np.sin(pitch)])
    place[2] = max(place[2], _LOWEST_M)
    return np.asarray(place)


def _roll_anywhere_deg(rng: np.random.Generator) -> float:
    """Mostly nearly level, now and then far from it."""
    kind = rng.choice(3, p=[0.5, 0.35, 0.15])
    return float((rng.normal(0, 2), rng.normal(0, 8), rng.uniform(-35, 35))[kind])
