"""The choices of an exercise file and what they mean, for the reference and for messages."""

from collections.abc import Mapping

WORDS: Mapping[str, Mapping[str, str]] = {
    "statistic": {
        "max": "greatest value that is kept up for a moment",
        "min": "smallest value that is kept up for a moment",
        "mean": "average",
        "range": "max less min",
        "spread": "how much it changes, without its extremes (3rd to 97th percentile)",
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
