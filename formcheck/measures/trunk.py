"""Trunk measures: lean, turn, body line, hips off the line; and the view."""

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.catalogue.views import MeasuredView
from formcheck.measures import uncertainty as error_model
from formcheck.measures.angles import angle_between_deg, unit
from formcheck.measures.posture import Posture
from formcheck.measures.table import Series, Side, View

UPRIGHT_DEG = 50.0
"""Trunk leans are measured from the vertical only while the trunk is within this of it. A proposal."""
_SHOWN_OF_FLEXION = 0.5
"""Share of the body's forward axis that must lie in the picture to see the hips off the line.
A proposal."""
_LEAST_SHOWN = 0.3
"""Lengths are corrected for foreshortening by no more than this share, as noise grows with it.
Mechanical."""
_LEAST_UP = 0.2
"""The same for the depth of the trunk over its height in the picture. Mechanical."""
_ELBOW_WEIGHT = 0.01
"""Decides which side is nearer where hip and ankle of both are seen equally. Mechanical."""

_TOWARD_CAMERA = np.array([0.0, 0.0, -1.0])
"""Unit vector in camera axes. Mechanical."""


def yaw_deg(posture: Posture) -> FloatArray:
    """Turn of the trunk to the camera over time (n,): 0 facing it, 90 with the right side to it."""
    right = -posture.left
    return np.asarray(
        np.degrees(np.arctan2(right @ _TOWARD_CAMERA, posture.forward @ _TOWARD_CAMERA))
    )


def view_from(posture: Posture) -> View:
    """The clip's typical view; its uncertainty is the model's own and that of turning about, together."""
    yaw = yaw_deg(posture)
    yaw = np.radians(yaw[np.isfinite(yaw)])
    if len(yaw) == 0:
        return View(MeasuredView.UNKNOWN, float("nan"), float("nan"))
    mean = np.arctan2(np.median(np.sin(yaw)), np.median(np.cos(yaw)))
    spread = np.degrees(np.std(np.angle(np.exp(1j * (yaw - mean)))))
    degrees = float(np.degrees(mean))
    uncertainty_deg = float(np.hypot(error_model.YAW_DEG, spread))
    return View(MeasuredView.at_yaw(degrees), degrees, uncertainty_deg)


def trunk_lean_side(posture: Posture) -> Series:
    """Lean of the trunk to the subject's left, from the picture's vertical."""
    return _leans(posture)[0]


def trunk_lean_forward(posture: Posture) -> Series:
    """Lean of the trunk forward, from the picture's vertical."""
    return _leans(posture)[1]


def _leans(posture: Posture) -> tuple[Series, Series]:
    """Lean to the subject's left and forward, from the picture's vertical.

    Across the picture the trunk's tilt is read well, along the line of sight only from weak depth,
    so that each lean is the surer the more its plane faces the camera.
    """
    yaw = np.radians(yaw_deg(posture))
    spine = posture.image_middle("shoulder") - posture.image_middle("hip")
    flat = unit(spine)
    depth = posture.up[:, 2] / np.maximum(np.linalg.norm(posture.up[:, :2], axis=1), _LEAST_UP)
    across, upward, away = flat[:, 0], -flat[:, 1], depth
    left_part = across * np.cos(yaw) + away * np.sin(yaw)
    forward_part = across * np.sin(yaw) - away * np.cos(yaw)
    upright = angle_between_deg(posture.up, np.broadcast_to([0.0, -1.0, 0.0], posture.up.shape))
    standing = (upright < UPRIGHT_DEG) & posture.trunk_seen
    leans = []
    for part, shown, hidden in (
        (left_part, np.cos(yaw), np.sin(yaw)),
        (forward_part, np.sin(yaw), np.cos(yaw)),
    ):
        value = np.where(standing, np.degrees(np.arctan2(part, upward)), np.nan)
        sd = np.hypot(
            error_model.LEAN_IMAGE_DEG * np.abs(shown), error_model.LEAN_DEPTH_DEG * hidden
        )
        sd = np.hypot(sd, error_model.LEAN_IMAGE_DEG)
        leans.append(Series(value, np.where(np.isfinite(value), sd, np.nan)))
    return leans[0], leans[1]


def trunk_turn(posture: Posture) -> Series:
    """Turn of the shoulder line on the hip line about the trunk, toward the subject's left."""
    shoulders = posture.left
    hips = posture.world_of("hip", "left") - posture.world_of("hip", "right")
    along = np.sum(hips * shoulders, axis=1)
    across = np.sum(hips * posture.forward, axis=1)
    # Hips that point ahead of the shoulders' left mean that the shoulders have turned to the left.
    value = np.degrees(np.arctan2(across, along)) / error_model.TURN_SHOWN
    value = np.where(posture.trunk_seen, value, np.nan)
    return Series(value, np.where(np.isfinite(value), error_model.turn_sd(posture.forward), np.nan))


def _near_side(posture: Posture) -> Side:
    """The side whose hip and ankle are seen better over the clip."""
    seen = {
        side: np.mean(posture.seen("hip", side) & posture.seen("ankle", side))
        + _ELBOW_WEIGHT * np.mean(posture.seen("elbow", side))
        for side in ("left", "right")
    }
    return "left" if seen["left"] > seen["right"] else "right"


def body_line(posture: Posture) -> Series:
    """Angle shoulder-hip-ankle, 180 = straight."""
    side = _near_side(posture)
    picture, world = (
        180
        - angle_between_deg(
            read("hip", side) - read("shoulder", side), read("ankle", side) - read("hip", side)
        )
        for read in (posture.image_of, posture.world_of)
    )
    body = posture.world_of("ankle", side) - posture.world_of("shoulder", side)
    share = np.linalg.norm(unit(body)[:, :2], axis=1) * _flexion_plane_shown(posture)
    sd = error_model.picture_angle_sd(error_model.BODY_LINE_IMAGE_DEG, share)
    world_sd = np.full(len(sd), error_model.BODY_LINE_WORLD_DEG)
    value, sd = error_model.blend(picture, sd, world, world_sd)
    seen = posture.seen("hip", side) & posture.seen("ankle", side)
    value = np.where(seen, value, np.nan)
    return Series(value, np.where(np.isfinite(value), sd, np.nan))


def _flexion_plane_shown(posture: Posture) -> FloatArray:
    """Share of the body's forward axis that lies in the picture: hips bend in that plane."""
    return np.asarray(np.linalg.norm(posture.forward[:, :2], axis=1))


def hip_off_line(posture: Posture) -> Series:
    """Hip off the line shoulder-ankle in the picture, in centimetres; + on the belly's side."""
    side = _near_side(posture)
    shoulder, hip, ankle = (posture.image_of(j, side) for j in ("shoulder", "hip", "ankle"))
    line = unit(ankle - shoulder)
    offset = hip - shoulder
    off = offset - np.sum(offset * line, axis=1, keepdims=True) * line
    shown = _flexion_plane_shown(posture)
    belly = unit(posture.forward[:, :2])
    value = (
        np.sum(off * belly, axis=1)
        / posture.trunk_px
        * posture.trunk_cm
        / np.maximum(shown, _LEAST_SHOWN)
    )
    value = value - error_model.HIP_MARK_CM
    seen = posture.seen("hip", side) & posture.seen("ankle", side) & (shown > _SHOWN_OF_FLEXION)
    value = np.where(seen, value, np.nan)
    sd = error_model.HIP_OFF_LINE_CM / np.maximum(shown, _LEAST_SHOWN)
    return Series(value, np.where(np.isfinite(value), sd, np.nan))
