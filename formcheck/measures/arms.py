"""Arm measures from geometry: picture angles where the joint faces the camera, world angles elsewhere."""

import numpy as np
from numpy.typing import NDArray

from formcheck.measures import uncertainty as error_model
from formcheck.measures.angles import (
    NEAR_POLE_DEG,
    STRAIGHT_DEG,
    angle_between_deg,
    axial_rotation_deg,
    elevation_deg,
    plane_of_elevation_deg,
    unit,
)
from formcheck.measures.posture import TRUNK_SHARE_OF_STATURE, Posture
from formcheck.measures.table import ArmPath, Series, Side

FloatArray = NDArray[np.float64]


def arm_series(posture: Posture, side: Side, stature_m: float) -> dict[str, Series]:
    """Every arm measure of one side as measure name -> Series, unseen stretches NaN."""
    upper3 = posture.world_of("elbow", side) - posture.world_of("shoulder", side)
    fore3 = posture.world_of("wrist", side) - posture.world_of("elbow", side)
    arm_seen = posture.seen("shoulder", side) & posture.seen("elbow", side)
    hand_seen = arm_seen & posture.seen("wrist", side)
    upper = unit(posture.into_trunk(upper3, side))
    fore = unit(posture.into_trunk(fore3, side))

    elbow = _elbow(posture, side, upper3, fore3)
    elevation = _elevation(posture, side, upper3, upper)
    # All but the elbow and the angle to the vertical are told from the trunk.
    on_trunk = posture.trunk_seen
    return {
        "elbow_flexion": _hide(elbow, hand_seen),
        "shoulder_elevation": _hide(elevation, arm_seen & on_trunk),
        "upper_arm_to_vertical": _hide(_to_vertical(posture, side, upper3), arm_seen),
        "plane_of_elevation": _hide(_plane(upper, elevation), arm_seen & on_trunk),
        "axial_rotation": _hide(_rotation(upper, fore, elbow), hand_seen & on_trunk),
        "hand_height": _hide(_hand_height(posture, side, stature_m), hand_seen & on_trunk),
    }


def arm_path(posture: Posture, side: Side) -> ArmPath:
    """The upper arm's direction over time, in the trunk's axes and in the picture."""
    upper3 = posture.world_of("elbow", side) - posture.world_of("shoulder", side)
    seen = posture.seen("shoulder", side) & posture.seen("elbow", side) & posture.trunk_seen
    offset = posture.image_of("elbow", side) - posture.image_of("shoulder", side)
    mirror = 1.0 if side == "right" else -1.0
    image = offset / posture.trunk_px[:, None] * np.array([mirror, -1.0])
    direction = unit(posture.into_trunk(upper3, side))
    toward = -unit(upper3)[:, 2]
    for values in (image, direction, toward):
        values[~seen] = np.nan
    return ArmPath(direction=direction, image=image, toward_camera=toward)


def _shown_share(*segments: FloatArray) -> FloatArray:
    """Share of length seen of the most foreshortened of camera-axes segments (n, 3)."""
    shares = [np.linalg.norm(unit(segment)[:, :2], axis=1) for segment in segments]
    return np.asarray(np.min(shares, axis=0))


def _elbow(posture: Posture, side: Side, upper3: FloatArray, fore3: FloatArray) -> Series:
    shoulder, elbow, wrist = (posture.image_of(j, side) for j in ("shoulder", "elbow", "wrist"))
    picture = angle_between_deg(elbow - shoulder, wrist - elbow)
    sd = error_model.picture_angle_sd(error_model.ELBOW_IMAGE_DEG, _shown_share(upper3, fore3))
    world = angle_between_deg(upper3, fore3)
    return Series(
        *error_model.blend(picture, sd, world, np.full(len(sd), error_model.ELBOW_WORLD_DEG))
    )


def _elevation(posture: Posture, side: Side, upper3: FloatArray, upper: FloatArray) -> Series:
    arm = posture.image_of("elbow", side) - posture.image_of("shoulder", side)
    down = posture.image_middle("hip") - posture.image_middle("shoulder")
    picture = angle_between_deg(arm, down)
    sd = error_model.picture_angle_sd(
        error_model.ELEVATION_IMAGE_DEG, _shown_share(upper3, posture.up)
    )
    world_sd = np.full(len(sd), error_model.ELEVATION_WORLD_DEG)
    return Series(*error_model.blend(picture, sd, elevation_deg(upper), world_sd))


def _to_vertical(posture: Posture, side: Side, upper3: FloatArray) -> Series:
    down = np.array([0.0, 1.0])
    arm = posture.image_of("elbow", side) - posture.image_of("shoulder", side)
    picture = angle_between_deg(arm, np.broadcast_to(down, arm.shape))
    sd = error_model.picture_angle_sd(error_model.ELEVATION_IMAGE_DEG, _shown_share(upper3))
    world = angle_between_deg(upper3, np.broadcast_to(np.array([0.0, 1.0, 0.0]), upper3.shape))
    world_sd = np.full(len(sd), error_model.ELEVATION_WORLD_DEG)
    return Series(*error_model.blend(picture, sd, world, world_sd))


def _plane(upper: FloatArray, elevation: Series) -> Series:
    """Less and less sure toward hanging and overhead: an error d across the arm becomes d / sin(e).

    Where it has no meaning is told by the better elevation of the estimate, not by this one.
    """
    e = np.clip(elevation.value, NEAR_POLE_DEG, 180 - NEAR_POLE_DEG)
    return Series(
        plane_of_elevation_deg(upper), error_model.PLANE_WORLD_DEG / np.sin(np.radians(e))
    )


def _rotation(upper: FloatArray, fore: FloatArray, elbow: Series) -> Series:
    """Less and less sure toward a straight elbow; hidden there as the plane is near its poles."""
    bend = np.radians(np.clip(elbow.value, STRAIGHT_DEG, 150))
    return Series(axial_rotation_deg(upper, fore), error_model.ROTATION_WORLD_DEG / np.sin(bend))


def _hand_height(posture: Posture, side: Side, stature_m: float) -> Series:
    """Height of the wrist above the hips along the trunk, in centimetres, read in the picture."""
    axis = unit(posture.up[:, :2])
    offset = posture.image_of("wrist", side) - posture.image_middle("hip")
    trunk_cm = TRUNK_SHARE_OF_STATURE * stature_m * 100
    height = np.sum(offset * axis, axis=1) / posture.trunk_px * trunk_cm
    return Series(height, np.full(len(height), error_model.HAND_HEIGHT_CM))


def _hide(series: Series, seen: NDArray[np.bool_]) -> Series:
    value = np.where(seen, series.value, np.nan)
    sd = np.where(np.isfinite(value), series.sd, np.nan)
    return Series(value, sd)
