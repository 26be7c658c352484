"""The outputs of the networks: their order, scale and meaning, for whoever fits them and runs them.

A network has for each time COLUMNS raw outputs. Two changes of direction and the vertical come as
vectors, what no direction tells as a scaled number (SCALARS), and then the logarithm of each
predicted error. From these the values of OUTPUTS are made, in that order, in degrees or in percent
of trunk length.
"""

from collections.abc import Mapping
from dataclasses import dataclass

VERSION = 1
"""Changes with any change of meaning here; weights that were fitted to another are refused.
Mechanical."""

ARM_OUTPUTS = (
    "elbow_flexion",
    "shoulder_elevation",
    "plane_of_elevation",
    "axial_rotation",
    "upper_arm_to_vertical",
    "rise",
    "protraction",
)
"""What is read of the arm in focus; ``rise`` is of the shoulder, without the normal rise taken off."""
TRUNK_OUTPUTS = (
    "trunk_lean_side",
    "trunk_lean_forward",
    "trunk_turn",
    "body_line",
    "hip_off_line",
)
OUTPUTS = ARM_OUTPUTS + TRUNK_OUTPUTS
MIRRORED = ("trunk_lean_side", "trunk_turn")
"""What has the other sign with the left arm in focus, as every arm is looked at as a right arm."""

UPPER_ARM, FOREARM = slice(0, 3), slice(3, 6)
"""What is added to the raw unit direction of either, in the trunk's axes. Mechanical."""
VERTICAL = slice(8, 11)
"""What is added to the trunk's own up to get the vertical, in the trunk's axes. Mechanical."""


@dataclass(frozen=True, slots=True)
class Scalar:
    """A value that is read from one column: ``scale`` times the raw output.

    With ``below`` it is at most that: ``below`` less ``scale`` times softplus of the raw output.
    """

    column: int
    scale: float
    below: float | None = None


SCALARS: Mapping[str, Scalar] = {
    "rise": Scalar(6, 3.0),
    "protraction": Scalar(7, 5.0),
    "trunk_lean_side": Scalar(11, 10.0),
    "trunk_lean_forward": Scalar(12, 10.0),
    "trunk_turn": Scalar(13, 10.0),
    "body_line": Scalar(14, 20.0, below=180.0),
    "hip_off_line": Scalar(15, 5.0),
}
"""The outputs that no direction tells, in degrees or in percent of trunk length. Mechanical."""

LOG_ERRORS = slice(16, 16 + len(OUTPUTS))
"""Natural logarithms of the predicted errors, in those that the fit began from, in the order of
OUTPUTS. Mechanical."""
LOG_ERROR_LIMIT = 4.0
"""Logarithms are cut off here to either side, so that no error vanishes or overflows. Mechanical."""
COLUMNS = LOG_ERRORS.stop
"""Raw outputs at each time. Mechanical."""
