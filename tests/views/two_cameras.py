"""Exact synthetic motion seen by two pinhole cameras that stand somewhere else and start later."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formcheck.landmarks.track import LandmarkTrack
from tests.synthetic import make_track

FloatArray = NDArray[np.float64]


def turn(axis: int, angle_deg: float) -> FloatArray:
    """A rotation about one of the camera's axes (x right, y down, z away)."""
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    i, j = [k for k in range(3) if k != axis]
    matrix = np.eye(3)
    matrix[i, i] = matrix[j, j] = c
    matrix[i, j], matrix[j, i] = (-s, s) if axis != 1 else (s, -s)
    return matrix


@dataclass(frozen=True)
class Phone:
    """``yaw_deg`` is how far it stands round to the subject's right."""

    yaw_deg: float = 0.0
    pitch_deg: float = 0.0
    roll_deg: float = 0.0
    distance_m: float = 3.0
    focal: float = 0.9
    width: int = 720
    height: int = 1280

    @property
    def axes(self) -> FloatArray:
        return turn(2, self.roll_deg) @ turn(0, self.pitch_deg) @ turn(1, self.yaw_deg)

    def sees(self, body: LandmarkTrack, times_s: FloatArray) -> LandmarkTrack:
        """The body (a track whose landmarks in space are exact) in this phone's picture, under these
        times of its own clock.
        """
        world = np.asarray(body.world_m, dtype=float) @ self.axes.T
        place = world + np.array([0.0, 0.0, self.distance_m])
        focal_px = self.focal * max(self.width, self.height)
        image = np.zeros_like(place)
        image[..., :2] = focal_px * place[..., :2] / place[..., 2:]
        image[..., :2] += np.array([self.width, self.height]) / 2
        return replace(
            body,
            time_s=times_s,
            image_px=image,
            world_m=world,
            width=self.width,
            height=self.height,
        )


def filmed(
    front: Phone,
    side: Phone,
    *,
    later_s: float = 0.0,
    drift: float = 0.0,
    duration_s: float = 12.0,
    rate_hz: tuple[float, float] = (30.0, 30.0),
    **motion: object,
) -> tuple[LandmarkTrack, LandmarkTrack]:
    """Two tracks of one motion; the second phone was started ``later_s`` after the first, and its
    clock is fast by the share ``drift``.
    """
    tracks = []
    for phone, rate, start_s, fast in (
        (front, rate_hz[0], 0.0, 0.0),
        (side, rate_hz[1], later_s, drift),
    ):
        own_s = np.arange(round((duration_s - max(start_s, 0.0)) * rate)) / rate
        real_s = own_s / (1 + fast) + start_s
        body = make_track(times=real_s, **motion)
        tracks.append(phone.sees(body, own_s))
    return tracks[0], tracks[1]


def rotation_angle_deg(rotation: FloatArray) -> float:
    return float(np.degrees(np.arccos(np.clip((np.trace(rotation) - 1) / 2, -1, 1))))
