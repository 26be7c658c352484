"""A camera that was not level: its roll is told from how people stand and undone, its height is not.

Whoever stands seen from the front or the back shows legs and trunk upright in the picture. Somebody who
leans tilts one of them, a camera tilted sideways both. From how far above it looks (``camera_place.py``)
is known too coarsely to undo it, and makes leans along its line of sight less sure.
"""

from dataclasses import replace

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.catalogue.codes import Params, ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.landmarks.track import Joint, LandmarkTrack
from formcheck.measures.angles import angle_between_deg
from formcheck.measures.camera_place import ELEVATION_SD_DEG, middle_of

LEVEL_DEG = 5.0
"""Up to so much roll is let pass: people stand upright no better than to about 3 degrees. A proposal."""
ROLL_SD_DEG = 3.0
"""Of a roll that is told so. A proposal."""
MOST_ROLL_DEG = 40.0
"""Legs and trunk that tilt by more are not those of somebody who stands. A proposal."""
STRAIGHT_KNEE_DEG = 25.0
"""Who stands bends the knees by less than this. A proposal."""
FACING_SHARE = 0.7
"""From the front or the back at least this share of the line of the shoulders lies in the picture: from
the side, leaning forward cannot be told from roll. A proposal."""
STEEP_DEG = 10.0
"""A camera that looks at people from further above or below than this is told. Of 654 clips of people whom
nothing was fitted to, so are 11 % of those filmed level to 10 degrees and 87 % of those looking down by 15
or more. A proposal."""
LEANING_DEG = 10.0
"""From this lean on all of what the camera looks down by may be missing in it. A proposal."""
ENOUGH_SHARE = 0.15
"""Share of the clip in which somebody must stand so: lowered until the roll of a camera before one real
man was told. Read on real people."""
SEEN = 0.5
"""Visibility from which a landmark counts as seen. Common practice, no source."""
_NEEDED = [
    *(Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER, Joint.LEFT_HIP, Joint.RIGHT_HIP),
    *(Joint.LEFT_KNEE, Joint.RIGHT_KNEE, Joint.LEFT_ANKLE, Joint.RIGHT_ANKLE),
]
"""Joints that must be seen. Mechanical."""
OF_GRAVITY = frozenset({"trunk_lean_side", "trunk_lean_forward", "upper_arm_to_vertical"})
"""Measures against the vertical, less sure by a camera that was not level."""


def levelled(track: LandmarkTrack) -> tuple[LandmarkTrack, float]:
    """The track as a level camera would give it, and the roll that was undone, degrees.

    The roll is positive if the picture shows people tilted clockwise; 0 if it is small or unknown.
    """
    roll_deg = camera_roll_deg(track)
    if not abs(roll_deg) > LEVEL_DEG:
        return track, 0.0
    turn = np.radians(-roll_deg)
    c, s = np.cos(turn), np.sin(turn)
    rotation = np.array([[c, -s], [s, c]], np.float32)
    centre = np.array([track.width / 2, track.height / 2], np.float32)
    image, world = track.image_px.copy(), track.world_m.copy()
    image[:, :, :2] = (image[:, :, :2] - centre) @ rotation.T + centre
    world[:, :, :2] = world[:, :, :2] @ rotation.T
    return replace(track, image_px=image, world_m=world), roll_deg


def camera_roll_deg(track: LandmarkTrack) -> float:
    """How far the camera was tilted sideways, degrees; NaN where nobody stands well in view."""
    return _common_tilt_deg(track, _standing(track) & _facing(track))


def roll_sd_deg(track: LandmarkTrack, roll_deg: float) -> float:
    """How unsure what is upright is: of a camera whose roll was undone by what is left of it.

    Somebody seen from the side who tilts with legs and trunk may lean, or the camera may.
    """
    if roll_deg:
        return ROLL_SD_DEG
    tilt_deg = abs(_common_tilt_deg(track, _standing(track) & ~_facing(track)))
    return tilt_deg if tilt_deg > LEVEL_DEG else 0.0


def _common_tilt_deg(track: LandmarkTrack, standing: BoolArray) -> float:
    """What legs and trunk both tilt by in the picture, degrees; NaN if that is seldom to be seen."""
    if standing.sum() < ENOUGH_SHARE * len(standing):
        return float("nan")
    shoulders, hips, ankles = (
        middle_of(track.image_px[standing, :, :2], name) for name in ("SHOULDER", "HIP", "ANKLE")
    )
    trunk, legs = (
        float(np.median(_tilt_deg(upper - lower)))
        for upper, lower in ((shoulders, hips), (hips, ankles))
    )
    return min(trunk, legs, key=abs) if trunk * legs > 0 else 0.0


def level_sd_deg(
    measure: str, value_deg: FloatArray, roll_sd: float, elevation_deg: float, yaw_deg: FloatArray
) -> FloatArray:
    """How unsure (n,) values (n,) of a measure against the vertical are by the camera, by the view (n,).

    ``roll_sd`` is the uncertainty of the camera's roll, ``elevation_deg`` how far it is above the body, NaN
    where that is not known; it counts from its own uncertainty on. Looking down and a lean along the line
    of sight are taken for each other; of who stands upright before a camera that looks down the networks
    know that they do.
    """
    along_sight = {
        "trunk_lean_side": np.abs(np.sin(np.radians(yaw_deg))),
        "trunk_lean_forward": np.abs(np.cos(np.radians(yaw_deg))),
    }.get(measure, np.zeros(len(yaw_deg)))
    leaning = np.minimum(np.abs(value_deg) / LEANING_DEG, 1.0)
    seen = abs(elevation_deg) > ELEVATION_SD_DEG
    pitch_deg = np.hypot(elevation_deg, ELEVATION_SD_DEG) if seen else 0.0
    return np.asarray(np.hypot(pitch_deg * along_sight * leaning, roll_sd))


def level_problems(roll_deg: float, elevation_deg: float) -> tuple[RecordingProblem, ...]:
    """What to tell of a roll that was undone, and of a camera that looks from above or below."""
    problems = []
    if roll_deg:
        side = "right" if roll_deg < 0 else "left"
        tilted: Params = {"roll_deg": round(abs(roll_deg)), "side": side}
        problems.append(RecordingProblem(ProblemCode.CAMERA_TILTED, params=tilted))
    if abs(elevation_deg) > STEEP_DEG:
        way = "down" if elevation_deg > 0 else "up"
        problems.append(RecordingProblem(ProblemCode.CAMERA_PITCHED, form=way))
    return tuple(problems)


def _facing(track: LandmarkTrack) -> BoolArray:
    """(n,) True where the subject is seen from the front or the back."""
    across = track.world_m[:, Joint.LEFT_SHOULDER] - track.world_m[:, Joint.RIGHT_SHOULDER]
    width = np.linalg.norm(across, axis=1)
    with np.errstate(invalid="ignore"):
        return np.asarray(np.linalg.norm(across[:, :2], axis=1) >= FACING_SHARE * width)


def _standing(track: LandmarkTrack) -> BoolArray:
    """(n,) True where somebody stands, legs straight, with all of them in view."""
    image = np.asarray(track.image_px[:, :, :2], dtype=float)
    with np.errstate(invalid="ignore"):
        standing = (track.visibility[:, _NEEDED] >= SEEN).all(axis=1)
        for upper, lower in (("SHOULDER", "HIP"), ("HIP", "ANKLE")):
            tilt = _tilt_deg(middle_of(image, upper) - middle_of(image, lower))
            standing &= np.abs(tilt) < MOST_ROLL_DEG
        for side in ("LEFT", "RIGHT"):
            hip, knee, ankle = (image[:, Joint[f"{side}_{n}"]] for n in ("HIP", "KNEE", "ANKLE"))
            standing &= angle_between_deg(knee - hip, ankle - knee) < STRAIGHT_KNEE_DEG
    return np.asarray(standing)


def _tilt_deg(upward: FloatArray) -> FloatArray:
    """How far directions (n, 2) in the picture are tilted clockwise from its upward."""
    return np.degrees(np.arctan2(upward[:, 0], -upward[:, 1]))
