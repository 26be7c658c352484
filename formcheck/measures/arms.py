"""Arm measures from geometry: picture angles where the joint faces the camera, world angles elsewhere.

Each takes a posture and a side and gives a Series, NaN where the joints that it needs are not seen.
"""

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.measures import uncertainty as error_model
from formcheck.measures.angles import (
    NEAR_POLE_DEG,
    STRAIGHT_DEG,
    angle_between_deg,
    axial_rotation_deg,
    elevation_deg,
    forward_deg,
    plane_of_elevation_deg,
    unit,
)
from formcheck.measures.posture import Posture
from formcheck.measures.table import ArmPath, Series, Side

FULL_BEND_DEG = 150.0
"""Of an elbow bent further the rotation's uncertainty grows no more. A proposal."""

UPPER_BEHIND, FORE_BEHIND = (0.37, -0.40), (-0.88, -0.42)
"""Share of upper arm and forearm that points outward and forward, with the hand behind the back:
half-way between resting there and lifted off. Read on rendered people."""
LEAST_TOWARD = 0.15
"""A segment that points less than this share toward the camera, or away from it, may do either.
A proposal."""
LONGEST_PERCENTILE = 97.0
"""A segment's own length is the longest that the clip shows, but for single bad readings.
A proposal."""


def elbow_flexion(posture: Posture, side: Side) -> Series:
    """Bend of the elbow, 0 straight."""
    return _where(_elbow(posture, side), _hand_seen(posture, side))


def shoulder_elevation(posture: Posture, side: Side) -> Series:
    """Humerothoracic elevation: upper arm to the trunk, 0 hanging."""
    seen = _arm_seen(posture, side) & posture.trunk_seen
    return _where(_elevation(posture, side), seen)


def plane_of_elevation(posture: Posture, side: Side) -> Series:
    """Direction of the raised arm about the trunk.

    Less and less sure toward hanging and overhead: an error d across the arm becomes d / sin(e).
    Where it has no meaning is told by the better elevation of the estimate, not by this one.
    """
    e = np.clip(_elevation(posture, side).value, NEAR_POLE_DEG, 180 - NEAR_POLE_DEG)
    sd = error_model.PLANE_WORLD_DEG / np.sin(np.radians(e))
    plane = Series(plane_of_elevation_deg(_upper_in_trunk(posture, side)), sd)
    return _where(plane, _arm_seen(posture, side) & posture.trunk_seen)


def axial_rotation(posture: Posture, side: Side) -> Series:
    """Rotation of the upper arm about itself, told from the forearm.

    Less and less sure toward a straight elbow; hidden there as the plane is near its poles.
    """
    bend = np.radians(np.clip(_elbow(posture, side).value, STRAIGHT_DEG, FULL_BEND_DEG))
    fore = unit(posture.into_trunk(_fore(posture, side), side))
    value = axial_rotation_deg(_upper_in_trunk(posture, side), fore)
    rotation = Series(value, error_model.ROTATION_WORLD_DEG / np.sin(bend))
    return _where(rotation, _hand_seen(posture, side) & posture.trunk_seen)


def upper_arm_forward(posture: Posture, side: Side) -> Series:
    """How far the upper arm points ahead of the trunk, negative behind it.

    Unlike the plane it has a meaning for an arm that hardly leaves the side.
    """
    value = forward_deg(_upper_in_trunk(posture, side))
    forward = Series(value, np.full(len(value), error_model.PLANE_WORLD_DEG))
    return _where(forward, _arm_seen(posture, side) & posture.trunk_seen)


def upper_arm_to_vertical(posture: Posture, side: Side) -> Series:
    """Upper arm to straight down, whatever the trunk."""
    upper = _upper(posture, side)
    arm = posture.image_of("elbow", side) - posture.image_of("shoulder", side)
    picture = angle_between_deg(arm, np.broadcast_to([0.0, 1.0], arm.shape))
    sd = error_model.picture_angle_sd(error_model.ELEVATION_IMAGE_DEG, _shown_share(upper))
    world = angle_between_deg(upper, np.broadcast_to([0.0, 1.0, 0.0], upper.shape))
    world_sd = np.full(len(sd), error_model.ELEVATION_WORLD_DEG)
    vertical = Series(*error_model.blend(picture, sd, world, world_sd))
    return _where(vertical, _arm_seen(posture, side))


def hand_height(posture: Posture, side: Side) -> Series:
    """Height of the wrist above the hips along the trunk, in centimetres, read in the picture."""
    axis = unit(posture.up[:, :2])
    offset = posture.image_of("wrist", side) - posture.image_middle("hip")
    value = np.sum(offset * axis, axis=1) / posture.trunk_px * posture.trunk_cm
    height = Series(value, np.full(len(value), error_model.HAND_HEIGHT_CM))
    return _where(height, _hand_seen(posture, side) & posture.trunk_seen)


def hand_behind(posture: Posture, side: Side) -> Series:
    """How far the wrist is behind the shoulder, of an arm that reaches behind the trunk.

    Across the picture it is seen as it is; along the line of sight it is told by how much shorter
    upper arm and forearm look than they do when they lie in the picture.
    """
    shoulder, elbow, wrist = (posture.image_of(j, side) for j in ("shoulder", "elbow", "wrist"))
    scale = posture.trunk_cm / posture.trunk_px
    upper_cm, fore_cm = (
        np.linalg.norm(part, axis=1) * scale for part in (elbow - shoulder, wrist - elbow)
    )
    toward = _way(posture, side, UPPER_BEHIND) * _along_sight(upper_cm)
    toward = toward + _way(posture, side, FORE_BEHIND) * _along_sight(fore_cm)
    across = np.sum((wrist - shoulder) * posture.forward[:, :2], axis=1) * scale
    value = toward * posture.forward[:, 2] - across
    seen = _hand_seen(posture, side) & posture.trunk_seen
    return _where(Series(value, np.full(len(value), error_model.HAND_BEHIND_CM)), seen)


def _along_sight(shown_cm: FloatArray) -> FloatArray:
    """Length of a segment along the line of sight (n,), its own length being the longest shown."""
    known = shown_cm[np.isfinite(shown_cm)]
    own_cm = np.percentile(known, LONGEST_PERCENTILE) if len(known) else np.nan
    return np.asarray(np.sqrt(np.maximum(own_cm**2 - shown_cm**2, 0.0)))


def _way(posture: Posture, side: Side, typical: tuple[float, float]) -> float:
    """+1 if a segment that lies so comes toward the camera in this clip, -1 if it goes away from it;
    NaN where it is too square on to know.
    """
    outward = posture.left if side == "left" else -posture.left
    toward = -(typical[0] * outward + typical[1] * posture.forward)[:, 2]
    known = toward[np.isfinite(toward)]
    usual = float(np.median(known)) if len(known) else 0.0
    return float(np.sign(usual)) if abs(usual) >= LEAST_TOWARD else float("nan")


def arm_path(posture: Posture, side: Side) -> ArmPath:
    """The upper arm's direction over time, in the trunk's axes and in the picture."""
    upper = _upper(posture, side)
    seen = _arm_seen(posture, side) & posture.trunk_seen
    offset = posture.image_of("elbow", side) - posture.image_of("shoulder", side)
    mirror = 1.0 if side == "right" else -1.0
    image = offset / posture.trunk_px[:, None] * np.array([mirror, -1.0])
    direction = unit(posture.into_trunk(upper, side))
    toward = -unit(upper)[:, 2]
    for values in (image, direction, toward):
        values[~seen] = np.nan
    return ArmPath(direction=direction, image=image, toward_camera=toward)


def _elbow(posture: Posture, side: Side) -> Series:
    upper, fore = _upper(posture, side), _fore(posture, side)
    shoulder, elbow, wrist = (posture.image_of(j, side) for j in ("shoulder", "elbow", "wrist"))
    picture = angle_between_deg(elbow - shoulder, wrist - elbow)
    sd = error_model.picture_angle_sd(error_model.ELBOW_IMAGE_DEG, _shown_share(upper, fore))
    world_sd = np.full(len(sd), error_model.ELBOW_WORLD_DEG)
    return Series(*error_model.blend(picture, sd, angle_between_deg(upper, fore), world_sd))


def _elevation(posture: Posture, side: Side) -> Series:
    arm = posture.image_of("elbow", side) - posture.image_of("shoulder", side)
    down = posture.image_middle("hip") - posture.image_middle("shoulder")
    picture = angle_between_deg(arm, down)
    shown = _shown_share(_upper(posture, side), posture.up)
    sd = error_model.picture_angle_sd(error_model.ELEVATION_IMAGE_DEG, shown)
    world = elevation_deg(_upper_in_trunk(posture, side))
    world_sd = np.full(len(sd), error_model.ELEVATION_WORLD_DEG)
    return Series(*error_model.blend(picture, sd, world, world_sd))


def _upper(posture: Posture, side: Side) -> FloatArray:
    """Shoulder to elbow in camera axes (n, 3)."""
    return posture.world_of("elbow", side) - posture.world_of("shoulder", side)


def _fore(posture: Posture, side: Side) -> FloatArray:
    """Elbow to wrist in camera axes (n, 3)."""
    return posture.world_of("wrist", side) - posture.world_of("elbow", side)


def _upper_in_trunk(posture: Posture, side: Side) -> FloatArray:
    return unit(posture.into_trunk(_upper(posture, side), side))


def _arm_seen(posture: Posture, side: Side) -> BoolArray:
    return posture.seen("shoulder", side) & posture.seen("elbow", side)


def _hand_seen(posture: Posture, side: Side) -> BoolArray:
    return _arm_seen(posture, side) & posture.seen("wrist", side)


def _shown_share(*segments: FloatArray) -> FloatArray:
    """Share of length seen of the most foreshortened of camera-axes segments (n, 3)."""
    shares = [np.linalg.norm(unit(segment)[:, :2], axis=1) for segment in segments]
    return np.asarray(np.min(shares, axis=0))


def _where(series: Series, seen: BoolArray) -> Series:
    value = np.where(seen, series.value, np.nan)
    return Series(value, np.where(np.isfinite(value), series.sd, np.nan))
