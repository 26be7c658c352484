"""The error model: how wrong each geometric measure is likely to be, by situation.

The one door for standard uncertainties. Base figures are mean absolute errors of the pose model's
raw angles on rendered people whose true angles are known (front, oblique, side and lying views),
turned into standard uncertainties; foreshortening follows tan(shown) = tan(true) cos(turn).
"""

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

ELBOW_IMAGE_DEG, ELBOW_WORLD_DEG = 5.0, 18.0
ELEVATION_IMAGE_DEG, ELEVATION_WORLD_DEG = 4.5, 10.0
PLANE_WORLD_DEG = 14.0
ROTATION_WORLD_DEG = 22.0
LEAN_IMAGE_DEG, LEAN_DEPTH_DEG = 1.5, 9.0
TURN_DEG = 8.0
BODY_LINE_IMAGE_DEG, BODY_LINE_WORLD_DEG = 4.0, 10.0
YAW_DEG = 8.0
RISE_CM = 0.7
RISE_HIGH_CM = 1.3
"""Above about 110 degrees of elevation the shoulder mark rises by itself by 1.3-2.3 cm."""
HIP_OFF_LINE_CM = 2.0
PROTRACTION_CM = 2.5
HAND_HEIGHT_CM = 2.5
TILT_DEG = 90.0
"""Growth of the error of a picture angle with the share of a segment that is hidden by tilt."""


def picture_angle_sd(base_deg: float, shown_share: FloatArray) -> FloatArray:
    """Uncertainty (n,) of an angle read in the picture.

    ``shown_share`` (n,) is the part of the shorter-looking segment's length that is seen (1 = square
    on, 0 = pointing at the camera).
    """
    return np.asarray(np.hypot(base_deg, TILT_DEG * (1 - np.clip(shown_share, 0, 1))))


def blend(
    value_a: FloatArray, sd_a: FloatArray, value_b: FloatArray, sd_b: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """The surer of two readings of one angle, with a soft change-over; (value, sd), both (n,).

    The errors are biases of one model and lean the same way, so two readings do not make the
    uncertainty smaller: the result carries the weighted mean of the two.
    """
    weight_a, weight_b = sd_a**-6.0, sd_b**-6.0
    share = weight_a / (weight_a + weight_b)
    return share * value_a + (1 - share) * value_b, share * sd_a + (1 - share) * sd_b
