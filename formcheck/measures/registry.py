"""Which function computes each measure from the posture.

Every measure over time of the catalogue has its function here, under the scope that it has there.
"""

from collections.abc import Callable, Mapping

from formcheck.measures import arms, girdle, trunk
from formcheck.measures.posture import Posture
from formcheck.measures.table import Series, Side

TRUNK: dict[str, Callable[[Posture], Series]] = {
    "trunk_lean_side": trunk.trunk_lean_side,
    "trunk_lean_forward": trunk.trunk_lean_forward,
    "trunk_turn": trunk.trunk_turn,
    "body_line": trunk.body_line,
    "hip_off_line": trunk.hip_off_line,
}

ARM: dict[str, Callable[[Posture, Side], Series]] = {
    "elbow_flexion": arms.elbow_flexion,
    "shoulder_elevation": arms.shoulder_elevation,
    "plane_of_elevation": arms.plane_of_elevation,
    "axial_rotation": arms.axial_rotation,
    "upper_arm_forward": arms.upper_arm_forward,
    "upper_arm_to_vertical": arms.upper_arm_to_vertical,
    "hand_height": arms.hand_height,
    "hand_behind": arms.hand_behind,
}

GIRDLE: dict[str, Callable[[Posture, Side, Mapping[str, Series]], Series]] = {
    "hike": girdle.hike,
    "protraction": girdle.protraction,
}
"""These come last, as they look at what has been estimated of the trunk and of this arm."""


def trunk_series(posture: Posture) -> dict[str, Series]:
    """Every measure of the trunk by its name."""
    return {name: compute(posture) for name, compute in TRUNK.items()}


def arm_series(posture: Posture, side: Side) -> dict[str, Series]:
    """Every measure of one arm by its name."""
    return {name: compute(posture, side) for name, compute in ARM.items()}


def girdle_series(
    posture: Posture, side: Side, estimated: Mapping[str, Series]
) -> dict[str, Series]:
    """Every measure of one side of the shoulder girdle by its name; ``estimated`` are the measures
    of the trunk and of this arm.
    """
    return {name: compute(posture, side, estimated) for name, compute in GIRDLE.items()}
