"""Exercise files written for one test."""

from collections.abc import Callable
from pathlib import Path

import pytest

GOOD = """
name = "reach-up"
title = "Reach up"
summary = "Reach up high."
start_position = "Stand tall."
position = "standing"
arms = "one"
movement = "rep"
cautions = ["Stop if it hurts."]
look_yourself = ["Is the breathing calm?"]
source = "common practice, no source"

[primary]
measure = "shoulder_elevation"
min_range = 30

[dose]
count = 8
source = "common practice, no source"

[filming]
best = ["front"]
advice = "Put the camera in front of you."

[[checks]]
id = "height"
measure = "shoulder_elevation"
statistic = "max"
low = 90
tolerance = 10
importance = "range"
cue = "Reach a little higher."
praise = "You reached high."
source = "common practice, no source"

[[checks]]
id = "hike"
measure = "hike"
statistic = "max"
high = 1
tolerance = 0.5
importance = "position"
cue = "Keep your shoulder down."
praise = "Your shoulder stayed down."
source = "common practice, no source"
"""

Write = Callable[..., Path]


@pytest.fixture
def good() -> str:
    return GOOD


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Writes ``text`` (the good file, if none) with ``old`` replaced by ``new``."""

    def writer(text: str = GOOD, old: str = "", new: str = "", name: str = "mine.toml") -> Path:
        assert old in text
        path = tmp_path / name
        path.write_text(text.replace(old, new, 1) if old else text, encoding="utf-8")
        return path

    return writer
