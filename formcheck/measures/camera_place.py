"""Where the camera stands: how far away, and how far above or below the middle of the body.

How large a person is in the picture says how far away the camera is, for a lens that is not known and
taken for a usual one. How the legs of somebody who stands tilt toward or away from the camera says from
how far above it looks.
"""

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.landmarks.track import Joint, LandmarkTrack
from formcheck.measures.angles import angle_between_deg

USUAL_FOCAL = 0.87
"""Focal length in longer sides of the picture, of a phone that sees 60 degrees along them. Common
practice, no source."""
DISTANCE_SD = 0.25
"""Standard uncertainty of a distance, as a share of it: lenses see 40 to 75 degrees. From one filming to
the next by the same phone distances repeat to 3 %. Read on rendered people."""
TILT_SLOPE, TILT_OFFSET_DEG = 1.18, -9.2
"""The camera's elevation from the tilt of the legs that the pose model gives. Read on rendered people."""
ELEVATION_SD_DEG = 5.7
"""Standard uncertainty of an elevation; from one filming to the next it repeats to 3. Read on rendered
people."""
MOST_BENT_DEG = 30.0
"""Who stands bends the knees by less than this, as the pose model has it in space. A proposal."""
LEAST_LEGS = 1.0
"""Who stands shows legs at least so many times as tall as the trunk: from ahead, who sits does not. A
proposal."""
ERECT_DEG = 25.0
"""Who stands erect has trunk and legs in line to within this; whose shoulders are not above the feet, say in
a push-up, does not stand. A proposal."""
STEEPEST_DEG = 45.0
"""No camera looks from further above or below somebody who stands, legs in view. A proposal."""
ENOUGH_SHARE = 0.15
"""Share of the clip in which somebody must stand with legs in view. A proposal."""
SEEN = 0.5
"""Visibility from which a landmark counts as seen. Common practice, no source."""
_DOWN = ("SHOULDER", "HIP", "KNEE", "ANKLE")


def camera_place(track: LandmarkTrack) -> tuple[float, float]:
    """Distance of the camera in metres, and its elevation above the middle of the body in degrees.

    NaN where they cannot be told: the distance of nobody, the elevation of who does not stand with legs
    in view. The distance holds for a usual lens (``USUAL_FOCAL``).
    """
    return _distance_m(track), _elevation_deg(track)


def _distance_m(track: LandmarkTrack) -> float:
    trunk = [Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER, Joint.LEFT_HIP, Joint.RIGHT_HIP]
    here = track.tracked
    if not here.any():
        return float("nan")
    image = track.image_px[here][:, trunk, :2].astype(float)
    space = track.world_m[here][:, trunk, :2].astype(float)
    image -= image.mean(axis=1, keepdims=True)
    space -= space.mean(axis=1, keepdims=True)
    px_per_m = np.median((image * space).sum((1, 2)) / (space**2).sum((1, 2)))
    return float(USUAL_FOCAL * max(track.width, track.height) / px_per_m)


def _elevation_deg(track: LandmarkTrack) -> float:
    shoulders, hips, knees, ankles = (middle_of(track.world_m, name) for name in _DOWN)
    standing = _legs_seen(track)
    with np.errstate(invalid="ignore"):
        standing &= angle_between_deg(knees - hips, ankles - knees) < MOST_BENT_DEG
        standing &= ankles[:, 1] - hips[:, 1] > LEAST_LEGS * np.abs(hips[:, 1] - shoulders[:, 1])
        standing &= np.abs(ankles[:, 0] - shoulders[:, 0]) < ankles[:, 1] - shoulders[:, 1]
        standing &= angle_between_deg(hips - shoulders, ankles - hips) < ERECT_DEG
    if standing.sum() < ENOUGH_SHARE * len(standing):
        return float("nan")
    legs = (hips - ankles)[standing]
    tilt_deg = float(np.median(np.degrees(np.arctan2(-legs[:, 2], -legs[:, 1]))))
    elevation_deg = TILT_SLOPE * tilt_deg + TILT_OFFSET_DEG
    return elevation_deg if abs(elevation_deg) < STEEPEST_DEG else float("nan")


def middle_of(landmarks: NDArray[np.floating], name: str) -> FloatArray:
    """The middle (n, axes) between the left and the right landmark of that name, of (n, 33, axes)."""
    both = landmarks[:, [Joint[f"LEFT_{name}"], Joint[f"RIGHT_{name}"]]]
    return np.asarray(both.mean(axis=1), dtype=float)


def _legs_seen(track: LandmarkTrack) -> BoolArray:
    """(n,) True where at least one leg is seen from hip to ankle."""
    legs = (
        track.visibility[:, [Joint[f"{side}_{n}"] for n in ("HIP", "KNEE", "ANKLE")]] >= SEEN
        for side in ("LEFT", "RIGHT")
    )
    left, right = (leg.all(axis=1) for leg in legs)
    return np.asarray(left | right)
