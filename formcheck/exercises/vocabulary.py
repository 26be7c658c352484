"""The words of an exercise file and what they mean, for the reference and for messages."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Measure:
    """What a measure is; ``low`` and ``high`` bound the values it can take at all, in ``unit``."""

    unit: str
    low: float
    high: float
    meaning: str


TRACES: Mapping[str, Measure] = {
    "elbow_flexion": Measure("deg", -30, 170, "bend of the elbow; straight is 0"),
    "shoulder_elevation": Measure("deg", 0, 180, "upper arm to the trunk; hanging is 0"),
    "plane_of_elevation": Measure(
        "deg",
        -180,
        180,
        "direction of the raised arm; to the side 0, straight ahead 90, behind < 0",
    ),
    "axial_rotation": Measure(
        "deg",
        -180,
        180,
        "turn of the upper arm about itself; inward is positive; needs a bent elbow",
    ),
    "hike": Measure(
        "cm", -20, 20, "rise of the shoulder toward the ear beyond what this elevation brings"
    ),
    "upper_arm_to_vertical": Measure(
        "deg", 0, 180, "upper arm to straight down, whatever the trunk"
    ),
    "protraction": Measure("cm", -20, 20, "forward travel of the shoulder on the trunk"),
    "hand_height": Measure("cm", -100, 150, "height of the wrist above the hips along the trunk"),
    "trunk_lean_side": Measure("deg", -90, 90, "lean of the trunk; to the client's left positive"),
    "trunk_lean_forward": Measure("deg", -90, 90, "lean of the trunk; forward is positive"),
    "trunk_turn": Measure(
        "deg", -180, 180, "turn of the shoulders on the hips; to the client's left positive"
    ),
    "body_line": Measure("deg", 0, 180, "angle shoulder, hip, ankle; straight is 180"),
    "hip_off_line": Measure(
        "cm", -50, 50, "hip off the line from shoulder to ankle; sagging is positive"
    ),
}
"""Measures that have a value at every moment."""

WHOLE: Mapping[str, Measure] = {
    "hold": Measure("s", 0, 600, "time held"),
    "duration": Measure("s", 0, 600, "time from the start to the end of the repetition"),
    "peak_speed": Measure("deg/s", 0, 2000, "greatest speed of the primary measure"),
    "range": Measure("of primary", 0, 360, "excursion of the primary measure"),
    "steadiness": Measure("of primary", 0, 90, "drift of the primary measure while held"),
    "roundness": Measure("0 to 1", 0, 1, "how close to a full circle"),
}
"""Measures that have one value for a repetition."""

MEASURES: Mapping[str, Measure] = {**TRACES, **WHOLE}

WORDS: Mapping[str, Mapping[str, str]] = {
    "statistic": {
        "max": "greatest value that is kept up for a moment",
        "min": "smallest value that is kept up for a moment",
        "mean": "average",
        "range": "max less min",
        "worst": "the value furthest from the target",
        "value": "the one value of a measure of the whole repetition",
    },
    "phase": {
        "whole": "from the start to the end",
        "effort": "from the start to the top",
        "top": "the top; in a hold, the time held",
        "return": "from the top to the end",
        "start": "the moment before the start",
    },
    "importance": {
        "safety": "said first, weighs most",
        "position": "how the body is held",
        "range": "how far and how long",
        "tempo": "how fast; said last, weighs least",
    },
}
"""The choices that need a word of explanation, by key."""
