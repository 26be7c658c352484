"""How sure each measure is from each view, on made clips: what formcheck advises views by."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
MEASURES = (
    "elbow_flexion",
    "shoulder_elevation",
    "plane_of_elevation",
    "axial_rotation",
    "upper_arm_forward",
    "trunk_lean_side",
    "trunk_lean_forward",
    "trunk_turn",
    "rise",
)
BANDS_DEG = (0, 30, 60, 100, 180)
YAW_STEP_DEG = 30


class Seen(Protocol):
    """One arm of a made clip: its view, and by measure the truth and the stated uncertainty (n,)."""

    @property
    def about(self) -> Mapping[str, Any]:
        """What the clip shows."""

    @property
    def group(self) -> str:
        """The view group."""

    @property
    def arm_yaw_deg(self) -> float:
        """0 front, 90 with this arm's side to the camera."""

    @property
    def truth(self) -> Mapping[str, Array]:
        """What is true."""

    @property
    def sd(self) -> Mapping[str, Array]:
        """How sure formcheck is."""


def view_advice(judged: Sequence[Seen]) -> dict[str, Any]:
    """Median standard uncertainty by measure, arm yaw and band of elevation.

    Of people who stand or sit and do an exercise: random arms are read less surely, and nobody films them.
    """
    edges = np.arange(-180, 180, YAW_STEP_DEG)
    advice: dict[str, Any] = {"yaw_from_deg": edges.tolist(), "elevation_from_deg": BANDS_DEG[:-1]}
    upright = [
        one
        for one in judged
        if one.group not in ("lying", "push-up") and one.about["movement"] != "random"
    ]
    for measure in MEASURES:
        grid: list[list[float | None]] = []
        for edge in edges:
            here = [o for o in upright if edge <= o.arm_yaw_deg < edge + YAW_STEP_DEG]
            line: list[float | None] = []
            for low, high in pairwise(BANDS_DEG):
                found = [_sd_in_band(o, measure, low, high) for o in here]
                sd = np.concatenate(found) if found else np.zeros(0)
                line.append(round(float(np.median(sd)), 1) if len(sd) >= 30 else None)
            grid.append(line)
        advice[measure] = grid
    return advice


def _sd_in_band(one: Seen, measure: str, low: float, high: float) -> Array:
    elevation, sd = one.truth["shoulder_elevation"], one.sd[measure]
    return np.asarray(sd[(elevation >= low) & (elevation < high) & np.isfinite(sd)])
