"""The error model: how wrong each geometric measure is likely to be, by situation.

Where every standard uncertainty of geometry is worked out. The figures are half the 95th percentile of the
error on rendered people who were used for nothing else (`models/calibration/REPORT.md`): all their
postures, views and paces together, so that they hold where the learned estimate gives no answer.
Foreshortening follows tan(shown) = tan(true) cos(turn).
"""

import numpy as np

from formcheck.catalogue.arrays import FloatArray

ELBOW_IMAGE_DEG, ELBOW_WORLD_DEG = 14.0, 60.0
"""Of elbow flexion read in the picture square on, and in space. Read on rendered people."""
ELEVATION_IMAGE_DEG, ELEVATION_WORLD_DEG = 14.0, 35.0
"""Of elevation and of the upper arm to the vertical, in the same way. Read on rendered people."""
PLANE_WORLD_DEG = 28.0
"""Of the plane of elevation with the arm level. Read on rendered people."""
ROTATION_WORLD_DEG = 40.0
"""Of axial rotation with the elbow at a right angle. Read on rendered people."""
LEAN_IMAGE_DEG, LEAN_DEPTH_DEG = 1.5, 9.0
"""Of a lean across the picture, and of one along the line of sight. Read on rendered people."""
TURN_SHOWN = 0.37
"""Share of a turn of the shoulders on the hips that the landmarks show (0.36 from the front, 0.41
obliquely, 0.38 from the side), so that a reading is divided by it, and its error with it.
Read on rendered people."""
TURN_AT_YAW_DEG, TURN_DEG = (0.0, 45.0, 90.0, 135.0, 180.0), (22.0, 30.0, 36.0, 40.0, 40.0)
"""Of such a reading, by how far the subject is turned away from the camera. Read on rendered people."""
UNSEEN_LEAN_DEG = 12.5
"""A lean along the line of sight of 15 degrees is read as 5, of 21 as 3, half-way to it as 8. (Of a
change within a repetition it counts 0.7 times: ``checks.statistics.DIFFERENCE_SHARE``.)
Read on rendered people."""
BODY_LINE_IMAGE_DEG, BODY_LINE_WORLD_DEG = 4.0, 10.0
"""Of the body line read in the picture square on, and in space. Read on rendered people."""
YAW_DEG = 8.0
"""Of how far the trunk is turned to the camera. Read on rendered people."""
RISE_AT_DEG, RISE_CM = (30.0, 50.0, 105.0, 125.0), (0.78, 1.25, 1.25, 1.9)
"""Of the shoulder mark in the picture by elevation: how far it rises with the arm differs by body,
clothes and camera more than by the sharpness of the picture, most of all overhead.
Read on rendered people."""
SHORT_BASELINE_S, SHORT_BASELINE_FACTOR = 1.0, 1.4
"""A rise counted from a baseline shorter than this is less sure by this factor.
Read on rendered people."""
RISE_FROM_SIDE = 0.7
"""So much more of it seen square from the side, where the ear hides behind the other and the shoulder
mark goes forward with the arm (1.7 times as much from there, 1.3 times half-way).
Read on rendered people."""
RISE_HEAD, RISE_SIDE_LEAN_CM, RISE_FORWARD_LEAN_CM = 0.5, 0.08, 0.1
"""More of it for each centimetre that the head moves, and each degree of lean to side or front.
Read on rendered people."""
HIP_OFF_LINE_CM = 1.8
"""Of the hips off the line from shoulder to ankle, seen square from the side. Read on rendered people."""
HIP_MARK_CM = 1.8
"""The hip mark lies this far to the belly's side of the joint (push-ups: 3.0 read for 1.1 cm).
Read on rendered people."""
PROTRACTION_CM = 2.5
"""Of the forward travel of the shoulder, seen square from the side. Read on rendered people."""
HAND_BEHIND_CM = 2.0
"""Of a change of the distance of the wrist behind the shoulder: lifts off the back of 9.5 cm read as
8.4 to 10.5, filmed from behind. Read on rendered people."""
HAND_HEIGHT_CM = 2.5
"""Of the height of the wrist over the hips. Read on rendered people."""
TILT_DEG = 200.0
"""Growth of the error of a picture angle with the share of a segment that is hidden by tilt.
Read on rendered people."""
BLEND_POWER = -6.0
"""Weight of a reading by its uncertainty, where two are blended: steep, so that the surer one counts.
A proposal."""


def picture_angle_sd(base_deg: float, shown_share: FloatArray) -> FloatArray:
    """Uncertainty (n,) of an angle read in the picture.

    ``shown_share`` (n,) is the part of the shorter-looking segment's length that is seen (1 = square
    on, 0 = pointing at the camera).
    """
    return np.asarray(np.hypot(base_deg, TILT_DEG * (1 - np.clip(shown_share, 0, 1))))


def turn_sd(forward: FloatArray) -> FloatArray:
    """Uncertainty (n,) of a turn from the trunk's forward axis (n, 3) in camera axes, degrees."""
    away = np.degrees(np.arctan2(np.abs(forward[:, 0]), -forward[:, 2]))
    return np.interp(away, TURN_AT_YAW_DEG, TURN_DEG)


def rise_sd_cm(
    elevation_deg: FloatArray,
    head_cm: FloatArray,
    side_deg: FloatArray,
    forward_deg: FloatArray,
    baseline_s: float,
) -> FloatArray:
    """Uncertainty (n,) of the shoulder mark's rise toward the ear, cm, all arrays (n,).

    ``head_cm`` is how far the head has moved on the neck, the next are leans, ``baseline_s`` how long
    the quiet start lasts that the rise is counted from. Seen from the front or the back; from the
    side it is more, see RISE_FROM_SIDE.
    """
    base = np.interp(np.nan_to_num(elevation_deg), RISE_AT_DEG, RISE_CM)
    base = base * (SHORT_BASELINE_FACTOR if baseline_s < SHORT_BASELINE_S else 1.0)
    more = (
        RISE_HEAD * np.nan_to_num(head_cm),
        RISE_SIDE_LEAN_CM * np.nan_to_num(side_deg),
        RISE_FORWARD_LEAN_CM * np.nan_to_num(forward_deg),
    )
    return np.asarray(np.sqrt(base**2 + sum(part**2 for part in more)))


def least_lean_sd(
    side: FloatArray, forward: FloatArray, yaw_deg: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Uncertainties (n,) of both leans, no smaller than what the view (n,) can tell of them.

    Most people stand still, and a network that was fitted to them is sure that they do.
    """
    yaw = np.radians(yaw_deg)
    return (
        np.maximum(side, UNSEEN_LEAN_DEG * np.sin(yaw) ** 2),
        np.maximum(forward, UNSEEN_LEAN_DEG * np.cos(yaw) ** 2),
    )


def blend(
    value_a: FloatArray,
    sd_a: FloatArray,
    value_b: FloatArray,
    sd_b: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """The surer of two readings of one angle in degrees, with a smooth transition; (value, sd), (n,).

    Mean and deviation are those of the mixture of both (weights sd^-6): where the two agree it is no
    surer than the better one, since their errors are biases of one model and go the same way; where
    they differ, their difference adds to its uncertainty. Where one is unknown it is the other.
    Angles are joined the short way round the circle.
    """
    weight_a, weight_b = (
        np.where(
            np.isfinite(value) & np.isfinite(sd), np.nan_to_num(sd, nan=1.0) ** BLEND_POWER, 0.0
        )
        for value, sd in ((value_a, sd_a), (value_b, sd_b))
    )
    total = weight_a + weight_b
    share = np.where(total > 0, weight_a / np.where(total > 0, total, 1.0), np.nan)
    a, b = np.where(weight_a > 0, value_a, value_b), np.where(weight_b > 0, value_b, value_a)
    apart = (a - b + 180) % 360 - 180
    known_a, known_b = np.where(weight_a > 0, sd_a, 0.0), np.where(weight_b > 0, sd_b, 0.0)
    variance = share * known_a**2 + (1 - share) * known_b**2 + share * (1 - share) * apart**2
    value = b + share * apart
    return np.where(np.abs(value) > 180, value - np.sign(value) * 360, value), np.sqrt(variance)
