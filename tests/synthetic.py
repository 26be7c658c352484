"""Exact synthetic motion: a stick figure with known joint angles, seen by a camera without perspective.

Its landmarks are free of error, so what formcheck makes of them can be compared with the truth.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from formcheck.landmarks.track import LANDMARK_COUNT, Joint, LandmarkTrack

FloatArray = NDArray[np.float64]
Curve = Callable[[FloatArray], FloatArray]

UPPER_ARM_M, FOREARM_M, TRUNK_M, HALF_SHOULDERS_M, HALF_HIPS_M = 0.30, 0.25, 0.4896, 0.18, 0.10
PX_PER_M = 400.0


def constant(value: float) -> Curve:
    return lambda t: np.full_like(t, value)


@dataclass(frozen=True)
class Arm:
    """Angles in degrees over time; rotation is tilt-and-torsion, internal positive."""

    elevation: Curve = field(default_factory=lambda: constant(8.0))
    plane: Curve = field(default_factory=lambda: constant(20.0))
    rotation: Curve = field(default_factory=lambda: constant(0.0))
    elbow: Curve = field(default_factory=lambda: constant(8.0))


def smooth_step(share: FloatArray) -> FloatArray:
    """Minimum-jerk move from 0 to 1."""
    s = np.clip(share, 0, 1)
    return s**3 * (10 - 15 * s + 6 * s * s)


def cycles(
    starts_s: list[float], rest: float, top: float, *, up_s: float, top_s: float, down_s: float
) -> Curve:
    """A curve that goes from rest to top and back once for each start time."""

    def curve(t: FloatArray) -> FloatArray:
        share = np.zeros_like(t)
        for start in starts_s:
            up = smooth_step((t - start) / up_s)
            down = smooth_step((t - start - up_s - top_s) / down_s)
            share += up - down
        return rest + (top - rest) * share

    return curve


def arm_directions(arm: Arm, t: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Unit upper-arm and forearm directions (n, 3) as (lateral, forward, up)."""
    e, p, r, k = (np.radians(c(t)) for c in (arm.elevation, arm.plane, arm.rotation, arm.elbow))
    across = np.stack([np.cos(p), np.sin(p), np.zeros_like(p)], axis=1)
    down = np.array([0.0, 0.0, -1.0])
    u = np.cos(e)[:, None] * down + np.sin(e)[:, None] * across

    def swung(vector: list[float]) -> FloatArray:
        v = np.asarray(vector)
        along = across @ v
        tilted = np.sin(e)[:, None] * (-down) + np.cos(e)[:, None] * across
        rest = v - along[:, None] * across
        rest = rest - (rest @ down)[:, None] * down
        return rest + along[:, None] * tilted + (v @ down) * u

    ahead = np.cos(r)[:, None] * swung([0, 1, 0]) - np.sin(r)[:, None] * swung([1, 0, 0])
    f = np.cos(k)[:, None] * u + np.sin(k)[:, None] * ahead
    return u, f


def make_track(
    *,
    duration_s: float = 10.0,
    rate_hz: float = 30.0,
    right: Arm | None = None,
    left: Arm | None = None,
    yaw_deg: float = 0.0,
    lean_left_deg: Curve | None = None,
    hike_right_m: Curve | None = None,
    scale: float = 1.0,
    times: FloatArray | None = None,
    travel_m: Curve | None = None,
) -> LandmarkTrack:
    """A standing figure; ``yaw_deg`` turns its right side toward the camera."""
    t = np.arange(round(duration_s * rate_hz)) / rate_hz if times is None else times
    lean = np.radians((lean_left_deg or constant(0.0))(t))
    hike = (hike_right_m or constant(0.0))(t)
    zero = np.zeros_like(t)
    up = np.stack([np.sin(lean), zero, np.cos(lean)], axis=1)  # body axes: left, forward, up
    side = np.stack([np.cos(lean), zero, -np.sin(lean)], axis=1)
    ahead = np.array([0.0, 1.0, 0.0])
    body = np.full((len(t), LANDMARK_COUNT, 3), np.nan)
    middle = TRUNK_M * up
    for name, sign, arm in (("LEFT", 1.0, left or Arm()), ("RIGHT", -1.0, right or Arm())):
        shoulder = middle + sign * HALF_SHOULDERS_M * side
        if name == "RIGHT":
            shoulder = shoulder + hike[:, None] * up
        u, f = arm_directions(arm, t)
        into = lambda v: sign * v[:, :1] * side + v[:, 1:2] * ahead + v[:, 2:] * up  # noqa: B023, E731
        elbow = shoulder + UPPER_ARM_M * into(u)
        wrist = elbow + FOREARM_M * into(f)
        hip = np.tile([sign * HALF_HIPS_M, 0, 0], (len(t), 1))
        points = {
            "SHOULDER": shoulder,
            "ELBOW": elbow,
            "WRIST": wrist,
            "INDEX": wrist + 0.08 * into(f),
            "HIP": hip,
            "KNEE": hip + np.array([0, 0, -0.42]),
            "ANKLE": hip + np.array([0, 0, -0.82]),
            "EAR": middle + 0.22 * up + sign * 0.07 * side,
            "EYE": middle + 0.24 * up + sign * 0.03 * side + 0.08 * ahead,
        }
        for joint, place in points.items():
            body[:, Joint[f"{name}_{joint}"]] = place
    body[:, Joint.NOSE] = middle + 0.21 * up + 0.1 * ahead
    return _seen(body, t, yaw_deg, scale, travel_m)


def _seen(
    body: FloatArray, t: FloatArray, yaw_deg: float, scale: float, travel_m: Curve | None
) -> LandmarkTrack:
    """Body axes (left, forward, up) into camera axes (right, down, away)."""
    yaw = np.radians(yaw_deg)
    left, forward, up = body[..., 0], body[..., 1], body[..., 2]
    right_px = left * np.cos(yaw) + forward * np.sin(yaw)
    away = left * np.sin(yaw) - forward * np.cos(yaw)
    world = np.stack([right_px, -up, away], axis=-1)
    centre = np.array([360.0, 640.0])
    shift = (travel_m or constant(0.0))(t)[:, None] * PX_PER_M
    image = world * PX_PER_M * scale
    image[..., 0] += centre[0] + shift
    image[..., 1] += centre[1]
    return as_track(t, image, world)


def as_track(t: FloatArray, image_px: FloatArray, world_m: FloatArray) -> LandmarkTrack:
    """All landmarks plainly seen; those that are not made (NaN) lie in the origin."""
    return LandmarkTrack(
        time_s=t,
        image_px=np.where(np.isnan(image_px), 0.0, image_px),
        world_m=np.where(np.isnan(world_m), 0.0, world_m),
        visibility=np.ones((len(t), LANDMARK_COUNT)),
        width=720,
        height=1280,
        model="synthetic",
        model_sha256="0" * 64,
    )


def through(stops: list[tuple[float, Arm | None]]) -> Arm:
    """An arm that moves from stop to stop: (time in seconds, pose), None being the hanging arm.

    Between two stops it moves at minimum jerk; two stops of one pose are a rest.
    """

    def curve(name: str) -> Curve:
        def value(t: FloatArray) -> FloatArray:
            at = [getattr(arm or Arm(), name)(np.zeros(1))[0] for _, arm in stops]
            result = np.full_like(t, at[0])
            for (t0, _), (t1, _), a, b in zip(stops, stops[1:], at, at[1:], strict=False):
                later = t >= t0
                result[later] = (a + (b - a) * smooth_step((t - t0) / (t1 - t0)))[later]
            return result

        return value

    return Arm(*(curve(name) for name in ("elevation", "plane", "rotation", "elbow")))
