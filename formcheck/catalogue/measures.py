"""Every measure, one row each. ``measures/registry.py`` names the function that computes it."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from formcheck.catalogue.codes import ReasonCode

OF_PRIMARY = "of primary"
"""Unit of a measure that is told in the unit of the exercise's primary measure."""
OF_PRIMARY_SPEED = "of primary per s"
"""Unit of a measure that is told in the unit of the exercise's primary measure, per second."""
SHARE = "0 to 1"
"""Unit of a share, which is written as a bare number."""


class Scope(StrEnum):
    """What a measure belongs to. Those of arm and girdle come once for each side of the body."""

    ARM = "arm"
    GIRDLE = "girdle"
    TRUNK = "trunk"
    REPETITION = "repetition"


@dataclass(frozen=True, slots=True)
class Measure:
    """What there is to know of one measure; all values are in its ``unit``.

    ``bounds`` are the values that it can take at all; ``usual`` those that it takes in exercises,
    where they are narrower (a proposal). ``joint`` is where a finding of it is drawn, ``unseen`` why
    it is unknown where the body is in view but the measure is not. ``csv_place`` orders the columns
    of ``measures.csv``: measures of one place stand together, first of the left side, then of the
    right. A tolerance wider than ``useful_tolerance`` no longer parts right from wrong, so that no
    check of it is learned from a demonstration (a proposal).
    """

    name: str
    unit: str
    scope: Scope
    bounds: tuple[float, float]
    meaning: str
    joint: Literal["shoulder", "elbow", "wrist", "hip"]
    unseen: ReasonCode
    usual: tuple[float, float] | None = None
    csv_place: int = 0
    useful_tolerance: float | None = None

    @property
    def over_time(self) -> bool:
        """True if it has a value at every moment, False if one for a repetition."""
        return self.scope is not Scope.REPETITION

    @property
    def sided(self) -> bool:
        """True if there is one for each side of the body."""
        return self.scope in (Scope.ARM, Scope.GIRDLE)

    def unit_beside(self, primary: "Measure | None" = None) -> str:
        """The unit that is written behind its values in an exercise of that primary measure."""
        if self.unit in (OF_PRIMARY, OF_PRIMARY_SPEED):
            per_second = "/s" if self.unit == OF_PRIMARY_SPEED else ""
            return primary.unit + per_second if primary else ""
        return "" if self.unit == SHARE else self.unit


_ROWS = (
    Measure(
        "elbow_flexion", "deg", Scope.ARM, (-30, 170),
        "bend of the elbow; straight is 0",
        joint="elbow", unseen=ReasonCode.ARM_HIDDEN,
        usual=(0, 150), csv_place=1, useful_tolerance=25,
    ),
    Measure(
        "shoulder_elevation", "deg", Scope.ARM, (0, 180),
        "upper arm to the trunk; hanging is 0",
        joint="elbow", unseen=ReasonCode.ARM_HIDDEN,
        csv_place=1, useful_tolerance=25,
    ),
    Measure(
        "plane_of_elevation", "deg", Scope.ARM, (-180, 180),
        "direction of the raised arm; to the side 0, straight ahead 90, behind < 0",
        joint="elbow", unseen=ReasonCode.NO_PLANE,
        usual=(-60, 140), csv_place=1, useful_tolerance=35,
    ),
    Measure(
        "axial_rotation", "deg", Scope.ARM, (-180, 180),
        "turn of the upper arm about itself; inward is positive; needs a bent elbow",
        joint="elbow", unseen=ReasonCode.NO_ROTATION,
        usual=(-110, 130), csv_place=1, useful_tolerance=40,
    ),
    Measure(
        "upper_arm_forward", "deg", Scope.ARM, (-90, 90),
        "upper arm ahead of the trunk; hanging or out to the side 0, behind < 0",
        joint="elbow", unseen=ReasonCode.ARM_HIDDEN,
        usual=(-60, 90), csv_place=1, useful_tolerance=25,
    ),
    Measure(
        "hike", "cm", Scope.GIRDLE, (-20, 20),
        "rise of the shoulder toward the ear beyond what this elevation brings",
        joint="shoulder", unseen=ReasonCode.SHOULDER_NOT_SEEN,
        csv_place=1, useful_tolerance=2.5,
    ),
    Measure(
        "upper_arm_to_vertical", "deg", Scope.ARM, (0, 180),
        "upper arm to straight down, whatever the trunk",
        joint="elbow", unseen=ReasonCode.ARM_HIDDEN,
        csv_place=1, useful_tolerance=25,
    ),
    Measure(
        "protraction", "cm", Scope.GIRDLE, (-20, 20),
        "forward travel of the shoulder on the trunk",
        joint="shoulder", unseen=ReasonCode.SHOULDER_NOT_SEEN,
        csv_place=3, useful_tolerance=4,
    ),
    Measure(
        "hand_height", "cm", Scope.ARM, (-100, 150),
        "height of the wrist above the hips along the trunk",
        joint="wrist", unseen=ReasonCode.ARM_HIDDEN,
        usual=(-30, 100), csv_place=4, useful_tolerance=10,
    ),
    Measure(
        "hand_behind", "cm", Scope.ARM, (-80, 80),
        "distance of the wrist behind the shoulder, of an arm that reaches behind the back",
        joint="wrist", unseen=ReasonCode.ARM_HIDDEN,
        usual=(-20, 60), csv_place=5, useful_tolerance=8,
    ),
    Measure(
        "trunk_lean_side", "deg", Scope.TRUNK, (-90, 90),
        "lean of the trunk; to the client's left positive",
        joint="hip", unseen=ReasonCode.NOT_UPRIGHT,
        csv_place=2, useful_tolerance=10,
    ),
    Measure(
        "trunk_lean_forward", "deg", Scope.TRUNK, (-90, 90),
        "lean of the trunk; forward is positive",
        joint="hip", unseen=ReasonCode.NOT_UPRIGHT,
        csv_place=2, useful_tolerance=10,
    ),
    Measure(
        "trunk_turn", "deg", Scope.TRUNK, (-180, 180),
        "turn of the shoulders on the hips; to the client's left positive",
        joint="hip", unseen=ReasonCode.TRUNK_NOT_SEEN,
        csv_place=2, useful_tolerance=15,
    ),
    Measure(
        "body_line", "deg", Scope.TRUNK, (0, 180),
        "angle shoulder, hip, ankle; straight is 180",
        joint="hip", unseen=ReasonCode.BODY_LINE_NOT_SEEN,
        csv_place=2, useful_tolerance=15,
    ),
    Measure(
        "hip_off_line", "cm", Scope.TRUNK, (-50, 50),
        "hip off the line from shoulder to ankle; sagging is positive",
        joint="hip", unseen=ReasonCode.BODY_LINE_NOT_SEEN,
        csv_place=2, useful_tolerance=6,
    ),
    Measure(
        "hold", "s", Scope.REPETITION, (0, 600),
        "time held",
        joint="elbow", unseen=ReasonCode.PART_NOT_SEEN,
    ),
    Measure(
        "duration", "s", Scope.REPETITION, (0, 600),
        "time from the start to the end of the repetition",
        joint="elbow", unseen=ReasonCode.PART_NOT_SEEN,
    ),
    Measure(
        "peak_speed", OF_PRIMARY_SPEED, Scope.REPETITION, (0, 2000),
        "greatest speed of the primary measure",
        joint="elbow", unseen=ReasonCode.PART_NOT_SEEN,
    ),
    Measure(
        "range", OF_PRIMARY, Scope.REPETITION, (0, 360),
        "excursion of the primary measure",
        joint="elbow", unseen=ReasonCode.PART_NOT_SEEN,
    ),
    Measure(
        "follow_range", "cm", Scope.REPETITION, (0, 20),
        "excursion of the follow measure after the return; 0 where there is none",
        joint="shoulder", unseen=ReasonCode.PART_NOT_SEEN,
        useful_tolerance=4,
    ),
    Measure(
        "steadiness", OF_PRIMARY, Scope.REPETITION, (0, 90),
        "drift of the primary measure while held",
        joint="elbow", unseen=ReasonCode.PART_NOT_SEEN,
    ),
    Measure(
        "roundness", SHARE, Scope.REPETITION, (0, 1),
        "how close to a full circle",
        joint="elbow", unseen=ReasonCode.PART_NOT_SEEN,
        useful_tolerance=0.35,
    ),
)  # fmt: skip
"""Where the values of a measure end, usually lie, and stop telling right from wrong. A proposal."""

MEASURES: Mapping[str, Measure] = {row.name: row for row in _ROWS}
"""Every measure by its name, in the order in which people read them."""


def names_of(*scopes: Scope) -> tuple[str, ...]:
    """The names of the measures of these scopes, in the order of the catalogue."""
    return tuple(row.name for row in MEASURES.values() if row.scope in scopes)
