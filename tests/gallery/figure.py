"""A made person: the pictures of a known track, and a push-up figure beside the standing one."""

from dataclasses import replace

import cv2
import numpy as np

from formcheck.landmarks.track import LANDMARK_COUNT, Joint, LandmarkTrack
from tests.synthetic import (
    FOREARM_M,
    HALF_HIPS_M,
    HALF_SHOULDERS_M,
    PX_PER_M,
    TRUNK_M,
    UPPER_ARM_M,
    Curve,
    as_track,
    constant,
)

WALL, FLOOR, SKIRTING = (214, 208, 198), (168, 150, 130), (240, 238, 232)
SHIRT, TROUSERS, SKIN, HAIR = (62, 106, 128), (58, 60, 74), (214, 168, 138), (70, 52, 44)
LEG_M = 0.82
_NEAREST = {
    **dict.fromkeys((1, 2, 3, 9), Joint.LEFT_EYE), **dict.fromkeys((4, 5, 6, 10), Joint.RIGHT_EYE),
    **dict.fromkeys((17, 21), Joint.LEFT_WRIST), **dict.fromkeys((18, 22), Joint.RIGHT_WRIST),
    **dict.fromkeys((29, 31), Joint.LEFT_ANKLE), **dict.fromkeys((30, 32), Joint.RIGHT_ANKLE),
}  # fmt: skip
"""Where a landmark lies that the synthetic figures lack."""


def in_picture(track: LandmarkTrack, width: int, height: int, scale: float) -> LandmarkTrack:
    """The same track in a picture of another size, about its middle, with all its landmarks."""
    points = track.image_px.copy()
    for joint in range(LANDMARK_COUNT):
        if not points[:, joint].any():
            points[:, joint] = points[:, _NEAREST[joint]]
    points[..., 0] = (points[..., 0] - track.width / 2) * scale + width / 2
    points[..., 1] = (points[..., 1] - track.height / 2) * scale + height / 2
    return replace(track, image_px=points, width=width, height=height)


def push_up_track(
    *,
    duration_s: float,
    elbow: Curve,
    sag_m: Curve | None = None,
    push_m: Curve | None = None,
    rate_hz: float = 20.0,
) -> LandmarkTrack:
    """Somebody on hands and feet, seen from the right; the elbows' bend moves the whole body."""
    t = np.arange(round(duration_s * rate_hz)) / rate_hz
    bend = np.radians(elbow(t))
    reach = np.sqrt(UPPER_ARM_M**2 + FOREARM_M**2 + 2 * UPPER_ARM_M * FOREARM_M * np.cos(bend)) + (
        push_m or constant(0.0)
    )(t)
    shoulder = np.stack([np.zeros_like(t), reach], axis=1)  # forward, up; the hands at zero
    ankle = np.array([-(TRUNK_M + LEG_M) * 0.97, 0.1])
    along = ankle - shoulder
    length = np.linalg.norm(along, axis=1, keepdims=True)
    unit = along / length
    below = np.stack([-unit[:, 1], unit[:, 0]], axis=1)
    below *= -np.sign(below[:, 1:2])
    sag = (sag_m or constant(0.0))(t)[:, None] * below
    hip = shoulder + TRUNK_M * unit + sag
    knee = hip + (ankle - hip) * 0.51
    # The elbow lies behind the line from shoulder to hand.
    half = np.clip((UPPER_ARM_M**2 + reach**2 - FOREARM_M**2) / (2 * reach * UPPER_ARM_M), -1, 1)
    open_rad = np.arccos(half)
    elbow_at = shoulder + UPPER_ARM_M * np.stack([-np.sin(open_rad), -np.cos(open_rad)], axis=1)
    hand = np.zeros_like(shoulder)
    ahead = -unit
    up = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1)
    places = {
        "SHOULDER": shoulder, "ELBOW": elbow_at, "WRIST": hand + np.array([0.0, 0.03]),
        "INDEX": hand + np.array([0.08, 0.0]), "HIP": hip, "KNEE": knee, "ANKLE": np.tile(ankle, (len(t), 1)),
        "EAR": shoulder + 0.22 * ahead + 0.02 * up, "EYE": shoulder + 0.27 * ahead - 0.05 * up,
    }  # fmt: skip
    body = np.full((len(t), LANDMARK_COUNT, 3), np.nan)
    for name, sign in (("LEFT", 1.0), ("RIGHT", -1.0)):
        for joint, place in places.items():
            side = HALF_HIPS_M if joint in ("HIP", "KNEE", "ANKLE") else HALF_SHOULDERS_M
            side = 0.07 if joint in ("EAR", "EYE") else side
            body[:, Joint[f"{name}_{joint}"], 0] = sign * side
            body[:, Joint[f"{name}_{joint}"], 1:] = place
    body[:, Joint.NOSE, 0] = 0.0
    body[:, Joint.NOSE, 1:] = shoulder + 0.28 * ahead - 0.08 * up
    body[..., 1] += 0.62
    world = np.stack([body[..., 1], -body[..., 2] + 0.25, body[..., 0]], axis=-1)
    image = world * PX_PER_M
    image[..., 0] += 360.0
    image[..., 1] += 640.0
    return as_track(t, image, world)


def picture_of(track: LandmarkTrack, time_s: float) -> np.ndarray:
    """The made person in a plain room, (height, width, 3) RGB."""
    image = np.full((track.height, track.width, 3), WALL, np.uint8)
    at = int(np.abs(track.time_s - time_s).argmin())
    points = track.image_px[at, :, :2]
    if not np.isfinite(points).all():
        return image
    size = float(np.linalg.norm(points[Joint.RIGHT_SHOULDER] - points[Joint.RIGHT_HIP]))
    ground = int(max(points[Joint.RIGHT_ANKLE][1], points[Joint.LEFT_ANKLE][1]) + 0.12 * size)
    cv2.rectangle(image, (0, ground - int(0.3 * size)), (track.width, track.height), FLOOR, -1)
    base = ground - int(0.3 * size)
    cv2.line(image, (0, base), (track.width, base), SKIRTING, max(round(0.05 * size), 2))
    depth = track.world_m[at, :, 2]
    near, far = ("RIGHT", "LEFT") if depth[Joint.RIGHT_HIP] <= depth[Joint.LEFT_HIP] else (
        "LEFT", "RIGHT")  # fmt: skip
    for name, dark in ((far, 0.85), (near, 1.0)):
        _legs(image, points, name, size, dark)
    arms = sorted(("LEFT", "RIGHT"), key=lambda name: -_depth_of_hand(depth, name))
    for name in arms:
        if _depth_of_hand(depth, name) > 0:
            _arm(image, points, name, size)
    _trunk(image, points, size)
    for name in arms:
        if _depth_of_hand(depth, name) <= 0:
            _arm(image, points, name, size)
    return image


def _depth_of_hand(depth: np.ndarray, name: str) -> float:
    middle = (depth[Joint.LEFT_HIP] + depth[Joint.RIGHT_HIP]) / 2
    hand = depth[Joint[f"{name}_WRIST"]] + depth[Joint[f"{name}_ELBOW"]]
    return float(hand / 2 - middle) - 0.04


def _trunk(image: np.ndarray, points: np.ndarray, size: float) -> None:
    names = ("LEFT_SHOULDER", "RIGHT_SHOULDER", "RIGHT_HIP", "LEFT_HIP")
    corners = [points[Joint[name]] for name in names]
    outline = np.rint(np.array(corners)).astype(np.int32)
    cv2.fillPoly(image, [outline], SHIRT, cv2.LINE_AA)
    cv2.polylines(image, [outline], True, SHIRT, round(0.3 * size), cv2.LINE_AA)
    shoulders = (points[Joint.LEFT_SHOULDER] + points[Joint.RIGHT_SHOULDER]) / 2
    ears = (points[Joint.LEFT_EAR] + points[Joint.RIGHT_EAR]) / 2
    _limb(image, shoulders, ears, 0.22 * size, SKIN, 1.0)
    centre = ears + 0.15 * (points[Joint.NOSE] - ears)
    cv2.circle(image, _px(centre), round(0.25 * size), HAIR, -1, cv2.LINE_AA)
    face = ears + 0.5 * (points[Joint.NOSE] - ears)
    cv2.circle(image, _px(face), round(0.2 * size), SKIN, -1, cv2.LINE_AA)


def _legs(image: np.ndarray, points: np.ndarray, name: str, size: float, dark: float) -> None:
    hip, knee, ankle = (points[Joint[f"{name}_{part}"]] for part in ("HIP", "KNEE", "ANKLE"))
    _limb(image, hip, knee, 0.32 * size, TROUSERS, dark)
    _limb(image, knee, ankle, 0.24 * size, TROUSERS, dark)


def _arm(image: np.ndarray, points: np.ndarray, name: str, size: float) -> None:
    shoulder, elbow, wrist, index = (
        points[Joint[f"{name}_{part}"]] for part in ("SHOULDER", "ELBOW", "WRIST", "INDEX")
    )
    _limb(image, shoulder, elbow, 0.2 * size, SKIN, 0.96)
    _limb(image, shoulder, shoulder + 0.4 * (elbow - shoulder), 0.25 * size, SHIRT, 0.9)
    _limb(image, elbow, wrist, 0.17 * size, SKIN, 1.0)
    _limb(image, wrist, index, 0.15 * size, SKIN, 1.04)


def _limb(image, start, end, width, colour, dark) -> None:
    shade = tuple(min(round(dark * c), 255) for c in colour)
    cv2.line(image, _px(start), _px(end), shade, max(round(width), 1), cv2.LINE_AA)


def _px(point: np.ndarray) -> tuple[int, int]:
    x, y = np.clip(np.rint(point), -30_000, 30_000)
    return int(x), int(y)
