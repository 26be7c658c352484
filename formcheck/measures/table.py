"""The measure table: one value with its standard uncertainty for each measure at each time."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.problems import RecordingProblem

FloatArray = NDArray[np.float64]
Side = Literal["left", "right"]
SIDES: tuple[Side, Side] = ("left", "right")


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """One measure over time: ``value`` and standard uncertainty ``sd``, (n,), NaN where unknown."""

    value: FloatArray
    sd: FloatArray


NOT_UPRIGHT = "the trunk is not upright"
HEAD_RESTS = "the head rests on the floor"
NO_PLANE = "the arm hangs or points overhead, where its plane has no meaning"
FROM_ANYWHERE = (NOT_UPRIGHT, HEAD_RESTS, NO_PLANE)
"""Reasons of gaps that hold wherever the camera stands."""


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch where a measure cannot be known, and why, in words for people."""

    start_s: float
    end_s: float
    reason: str


@dataclass(frozen=True, slots=True)
class View:
    """How the trunk faces the camera.

    ``yaw_deg`` is 0 facing the camera, positive when the subject's right side turns toward it,
    180 with the back to it; ``uncertainty_deg`` is one standard uncertainty.
    """

    name: str
    yaw_deg: float
    uncertainty_deg: float


@dataclass(frozen=True, slots=True, eq=False)
class ArmPath:
    """Upper-arm direction over time, for circles.

    ``direction`` (n, 3) is the unit vector shoulder to elbow in the trunk's own axes
    (x lateral away from the body, y forward, z up along the trunk); ``image`` (n, 2) is the elbow
    from the shoulder in the picture in trunk lengths (x right, y up; mirrored for the left arm).
    ``toward_camera`` (n,) is the share of the arm that points at the camera (-1 to 1).
    """

    direction: FloatArray
    image: FloatArray
    toward_camera: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class MeasureTable:
    """Every measure of a clip on one time base.

    ``columns`` maps names such as ``elbow_flexion_right_deg`` or ``trunk_turn_deg`` to a Series;
    ``gaps`` says for a column where it is unknown and why; ``moving_about`` (n,) is True while the
    subject walks or changes place; ``bridged`` (n,) is True where a short gap was filled.
    """

    time_s: FloatArray
    columns: Mapping[str, Series]
    view: View
    arm_paths: Mapping[Side, ArmPath]
    moving_about: NDArray[np.bool_]
    bridged: NDArray[np.bool_]
    gaps: Mapping[str, tuple[Gap, ...]] = field(default_factory=dict)
    problems: tuple[RecordingProblem, ...] = ()

    def series(self, measure: str, side: Side | None = None) -> Series:
        """The column of a measure named without side and unit, as exercises name it.

        Raises KeyError if there is no such measure.
        """
        return self.columns[column_name(measure, side)]


_SIDED_UNITS = {
    "elbow_flexion": "deg",
    "shoulder_elevation": "deg",
    "plane_of_elevation": "deg",
    "axial_rotation": "deg",
    "hike": "cm",
    "upper_arm_to_vertical": "deg",
    "protraction": "cm",
    "hand_height": "cm",
}
_TRUNK_UNITS = {
    "trunk_lean_side": "deg",
    "trunk_lean_forward": "deg",
    "trunk_turn": "deg",
    "body_line": "deg",
    "hip_off_line": "cm",
}
MEASURE_UNITS: Mapping[str, str] = {**_SIDED_UNITS, **_TRUNK_UNITS}


def column_name(measure: str, side: Side | None = None) -> str:
    """``elbow_flexion``, ``right`` -> ``elbow_flexion_right_deg``; trunk measures take no side."""
    if measure in _TRUNK_UNITS:
        return f"{measure}_{_TRUNK_UNITS[measure]}"
    if measure not in _SIDED_UNITS or side is None:
        raise KeyError(measure)
    return f"{measure}_{side}_{_SIDED_UNITS[measure]}"


def is_sided(measure: str) -> bool:
    """True for measures of an arm, False for those of the trunk."""
    return measure in _SIDED_UNITS
