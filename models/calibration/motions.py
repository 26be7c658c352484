"""Movements over time: smooth timelines, random arms and trunk over the reachable workspace."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.calibration.body import SIDES, Body, Motion, arm_vectors
from models.calibration.rotations import unit

Array = NDArray[np.float64]
RATE_HZ = 30.0
HANGING = np.array([9.0, 15.0, 0.0, 10.0, 20.0])
"""Arm angles: elevation, plane, external rotation, elbow flexion, pronation."""

_TEMPO_S = {"fast": (0.25, 0.7), "medium": (0.7, 1.5), "slow": (1.5, 3.5), "still": (0.8, 2.0)}
_PAUSE_S = {"fast": (0.0, 0.3), "medium": (0.0, 0.8), "slow": (0.0, 1.5), "still": (2.0, 5.0)}
_NAMED_POSES = np.array(
    [
        [9, 15, 0, 10, 20],
        [16, 25, -62, 90, 0],
        [90, 97, -82, 105, 30],
        [60, 115, -70, 130, 20],
        [32, -48, -104, 92, 20],
        [25, -40, -80, 110, 20],
        [35, 20, -50, 95, 0],
        [140, 60, 30, 110, 0],
        [90, 0, 85, 90, 0],
        [90, 5, 0, 90, 0],
        [90, 90, 0, 90, 0],
        [90, 90, 20, 5, 0],
        [165, 60, 30, 8, 0],
        [9, 10, 40, 90, 0],
        [9, 10, -40, 90, 0],
        [12, 45, 0, 140, -60],
        [45, -80, 0, 60, 0],
    ],
    dtype=float,
)
"""Hanging, hand on belly, opposite shoulder, behind the back, hip, head, 90/90, overhead, curls."""


def min_jerk(share: Array) -> Array:
    """Smooth 0 to 1 for shares (n,) of a movement's duration."""
    s = np.clip(share, 0, 1)
    return np.asarray(s**3 * (10 - 15 * s + 6 * s * s))


def wander(rng: np.random.Generator, frames: int, amplitude: float, cutoff_hz: float) -> Array:
    """Slow random drift (n,) with about this standard deviation."""
    half = int(RATE_HZ / cutoff_hz / 2)
    window = np.hanning(2 * half + 1)
    noise = rng.standard_normal(frames + 2 * half)
    return np.asarray(amplitude * np.convolve(noise, window / np.sqrt((window**2).sum()), "valid"))


def through(keys: Array, moves_s: Array, pauses_s: Array, frames: int) -> Array:
    """Path (n, k) that rests at each key (m, k) for its pause and moves smoothly to the next."""
    path = [np.repeat(keys[:1], max(1, round(pauses_s[0] * RATE_HZ)), axis=0)]
    for start, end, move, pause in zip(keys, keys[1:], moves_s[1:], pauses_s[1:], strict=False):
        count = max(2, round(move * RATE_HZ))
        share = min_jerk((np.arange(count) + 1) / count)[:, None]
        path += [start + (end - start) * share]
        path += [np.repeat(end[None], round(pause * RATE_HZ), axis=0)]
    whole = np.concatenate(path)
    rest = np.repeat(whole[-1:], max(0, frames - len(whole)), axis=0)
    return np.concatenate([whole, rest])[:frames]


@dataclass(frozen=True, slots=True)
class Trunk:
    """Room that the body's own trunk and head take, in thorax axes, to keep hands outside."""

    half_width: float
    middle_y: float
    half_depth: float
    bottom: float
    top: float
    head: Array

    @classmethod
    def of(cls, body: Body) -> "Trunk":
        """Measured off the rest mesh."""
        skin = body.vertices[body.weight_of(("spine", "breast", "root")) > 0.6]
        shoulder = body.head("upperarm01.L")
        belly = skin[(skin[:, 2] < shoulder[2]) & (skin[:, 2] > body.head("spine05")[2] - 0.05)]
        back, front = np.percentile(belly[:, 1], [97, 3])
        return cls(
            half_width=float(np.percentile(np.abs(belly[:, 0]), 95)) * 0.92,
            middle_y=float((back + front) / 2),
            half_depth=float(back - front) / 2,
            bottom=float(body.head("upperleg01.L")[2]) - 0.1,
            top=float(shoulder[2]),
            head=body.head("head") + np.array([0, -0.02, 0.09]),
        )

    def holds(self, points: Array) -> bool:
        """True if any of the points (n, 3) lies inside the trunk or the head."""
        across = points[:, 0] / self.half_width
        deep = (points[:, 1] - self.middle_y) / self.half_depth
        level = (points[:, 2] > self.bottom) & (points[:, 2] < self.top)
        inside = (across**2 + deep**2 < 1) & level
        head = np.linalg.norm(points - self.head, axis=1) < 0.11
        return bool((inside | head).any())


class ArmSampler:
    """Random arm angles anywhere in the reachable workspace, outside the body."""

    def __init__(self, body: Body, side: str, yaw_deg: float) -> None:
        self.body, self.side = body, side
        self.trunk = Trunk.of(body)
        # Plane of elevation at which a level arm points at the camera.
        self.camera_plane = 90 - yaw_deg if side == "R" else 90 + yaw_deg

    def sample(self, rng: np.random.Generator) -> Array:
        """One set of angles (5,)."""
        angles = HANGING
        for _ in range(30):
            angles = self._propose(rng)
            if not self.trunk.holds(_points(self.body, self.side, angles)):
                return angles
        return HANGING + rng.normal(0, [3, 5, 5, 4, 5])

    def _propose(self, rng: np.random.Generator) -> Array:
        kind = rng.choice(3, p=[0.55, 0.35, 0.10])
        if kind == 1:
            near = _NAMED_POSES[rng.integers(len(_NAMED_POSES))]
            angles = near + rng.normal(0, [10, 12, 15, 12, 15])
        else:
            elevation = np.degrees(np.arccos(rng.uniform(-0.98, 0.99)))
            plane = rng.uniform(-60, 130)
            bent = rng.uniform(0, 148) if rng.random() < 0.7 else rng.uniform(0, 15)
            angles = np.array([elevation, plane, rng.uniform(-105, 95), bent, rng.uniform(-60, 70)])
            if kind == 2:
                wrapped = (self.camera_plane + 180) % 360 - 180
                angles[0], angles[1] = rng.normal(85, 15), np.clip(wrapped, -60, 130)
        angles[0] = abs(angles[0])
        low, high = np.array([2, -75, -110, 0, -70]), np.array([176, 135, 100, 150, 80])
        return np.clip(angles, low, high)


def outside_body(body: Body, side: str, path: Array) -> bool:
    """True if the forearm and hand of every arm posture (n, 5) stay outside the trunk and head."""
    trunk = Trunk.of(body)
    return not any(trunk.holds(_points(body, side, angles)) for angles in path)


def _points(body: Body, side: str, angles: Array) -> Array:
    arm = arm_vectors(side, angles[None])
    return forearm_points(body, side, arm.upper, arm.fore)


def forearm_points(body: Body, side: str, upper: Array, fore: Array) -> Array:
    """Places (4 n, 3) along forearms and hands of arm directions (n, 3), in thorax axes."""
    upper_m = body.segment_m(f"upperarm01.{side}", f"lowerarm01.{side}")
    fore_m = body.segment_m(f"lowerarm01.{side}", f"wrist.{side}")
    elbow = body.head(f"upperarm01.{side}") + upper_m * upper
    return np.concatenate([elbow + share * fore_m * fore for share in (0.0, 0.5, 1.0, 1.35)])


def random_angles(rng: np.random.Generator, sampler: ArmSampler, frames: int) -> Array:
    """One arm's angles (n, 5) wandering between random places, at one of four tempos."""
    tempo = str(rng.choice(list(_TEMPO_S), p=[0.2, 0.35, 0.25, 0.2]))
    count = 2 + int(frames / RATE_HZ / _TEMPO_S[tempo][0])
    keys = np.stack([sampler.sample(rng) for _ in range(min(count, 24))])
    moves = rng.uniform(*_TEMPO_S[tempo], len(keys))
    pauses = rng.uniform(*_PAUSE_S[tempo], len(keys))
    return through(keys, moves, pauses, frames)


def _life(rng: np.random.Generator, frames: int, share: float, limit: float) -> Array:
    """Drift that is small in most clips and large in a ``share`` of them, degrees (n,)."""
    if rng.random() < share:
        keys = rng.uniform(-limit, limit, (6, 1))
        keys[0] *= 0.3
        pauses = rng.uniform(0, 1.5, 6)
        return through(keys, rng.uniform(0.6, 2.5, 6), pauses, frames)[:, 0]
    return wander(rng, frames, 0.5, 0.4)


def standing(
    rng: np.random.Generator, body: Body, angles: dict[str, Array], restless: float
) -> Motion:
    """A standing body with these arm angles; ``restless`` is the share of large trunk movements."""
    frames = len(angles["L"])
    lift, forward = {}, {}
    rhythm = rng.uniform(4, 12)
    for side in SIDES:
        elevation, plane = angles[side][:, 0], angles[side][:, 1]
        lift[side] = rhythm * np.clip((elevation - 30) / 90, 0, 1.3)
        lift[side] = lift[side] + wander(rng, frames, 0.5, 0.4)
        if rng.random() < restless:
            lift[side] += np.abs(_life(rng, frames, 1.0, 20)) - 2
        ahead = np.sin(np.radians(elevation)) * np.sin(np.radians(np.clip(plane, -30, 110)))
        forward[side] = rng.uniform(0, 9) * ahead + wander(rng, frames, 0.6, 0.4)
        forward[side] += _life(rng, frames, restless * 0.6, 14)
    hung = rng.normal(0, 2.5, 2)
    return Motion(
        root_turn=np.broadcast_to(np.eye(3), (frames, 3, 3)).copy(),
        root_place=np.tile([0.0, 0.0, -body.floor], (frames, 1)),
        arms={s: arm_vectors(s, angles[s]) for s in SIDES},
        lean_left=hung[0] + _life(rng, frames, restless * 0.6, 24),
        lean_forward=hung[1] + 1.5 + _life(rng, frames, restless * 0.6, 26),
        turn_left=rng.normal(0, 2) + _life(rng, frames, restless * 0.5, 30),
        neck_forward=rng.normal(3, 5) + _life(rng, frames, restless * 0.7, 20),
        neck_left=rng.normal(0, 2) + _life(rng, frames, restless * 0.5, 15),
        neck_turn=rng.normal(0, 5) + _life(rng, frames, restless * 0.7, 45),
        clavicle_lift=lift,
        clavicle_forward=forward,
        legs=_stance(rng, body, frames),
    )


def _stance(
    rng: np.random.Generator, body: Body, frames: int
) -> dict[str, tuple[Array, Array, Array]]:
    """Feet closer together than the rest mesh's, by a random amount."""
    legs = {}
    narrow = rng.uniform(0.3, 1.1)
    for side in SIDES:
        thigh = unit(body.rest[side]["thigh"] * np.array([narrow, 1, 1]))
        shank = unit(body.rest[side]["shank"] * np.array([narrow, 1, 1]))
        legs[side] = (
            np.tile(thigh, (frames, 1)),
            np.tile(shank, (frames, 1)),
            np.broadcast_to(np.eye(3), (frames, 3, 3)),
        )
    return legs
