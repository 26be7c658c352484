"""Checking by a client's programme, and without saying which exercise it is."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

CLIP = Path(__file__).parents[2] / "sample_clips" / "external-rotation_front.mp4"
PLAN = """
client = "heron"
phase = "weeks 3 to 5"

[[items]]
exercise = "external-rotation-at-side"
side = "right"
note = "Only as far as feels easy."
[items.dose]
count = 3
sets = 1
[[items.checks]]
id = "turn-out"
high = -20
"""
SECOND = """
[[items]]
exercise = "belly-press"
side = "left"
after_sessions = 2
"""


@pytest.fixture(scope="module")
def cache(tmp_path_factory):
    return tmp_path_factory.mktemp("cache")


@pytest.fixture
def check(cache, tmp_path):
    def formcheck(*arguments):
        command = [sys.executable, "-m", "formcheck", "check", str(CLIP), "--out", "out"]
        return subprocess.run(
            [*command, *map(str, arguments)],
            capture_output=True,
            text=True,
            check=False,
            cwd=tmp_path,
            stdin=subprocess.DEVNULL,
            env={**os.environ, "FORMCHECK_CACHE_DIR": str(cache)},
        )

    return formcheck


@pytest.fixture
def plan(tmp_path):
    def write(text):
        path = tmp_path / "heron.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def test_a_programme_gives_exercise_side_and_limits_and_reports_the_dose(check, plan, tmp_path):
    done = check("--programme", plan(PLAN))
    assert done.returncode == 0, done.stderr
    assert 'checks "turn-out".high: -30.0 -> -20.0' in done.stdout
    assert (
        "external-rotation-at-side, right: 1 of 1 set done; a set is 3 (1 clip filmed)"
        in done.stdout
    )
    folder = tmp_path / "out" / CLIP.stem
    result = json.loads((folder / "result.json").read_text("utf-8"))
    assert result["side"] == "right"
    assert result["dose"]["prescribed"]["count"] == 3
    assert result["prescription"]["client"] == "heron"
    turn_out = next(c for c in result["reps"][0]["checks"] if c["id"] == "turn-out")
    assert turn_out["high"] == -10  # -20 and its tolerance of 10
    client = (folder / "sheet.html").read_text("utf-8")
    assert "for heron" in client
    assert "Only as far as feels easy." in client
    assert "Agreed with you" in client
    coach = (folder / "coach.html").read_text("utf-8")
    assert "weeks 3 to 5" in coach
    assert "count 3 (usually 10)" in coach


def test_of_several_the_option_picks_and_what_was_not_filmed_is_told(check, plan):
    exercise = ("--exercise", "external-rotation-at-side")
    done = check("--programme", plan(PLAN + SECOND), *exercise)
    assert done.returncode == 0, done.stderr
    assert "belly-press" not in done.stdout
    done = check("--programme", plan(PLAN + SECOND))  # recognised among the two
    assert done.returncode == 0, done.stderr
    assert "looks like" in done.stderr
    assert (
        "belly-press, left: 0 of 1 set done; a set is 3, each held 5 s (not filmed)" in done.stdout
    )
    assert "due after 2 sessions" in done.stdout


def test_what_is_not_prescribed_is_refused_with_what_is(check, plan):
    for more in (("--exercise", "lift-off"), ("--side", "left")):
        done = check("--programme", plan(PLAN), *more)
        assert done.returncode == 2
        assert "not in this programme, which has external-rotation-at-side (right)" in done.stderr


def test_without_a_name_a_clear_clip_is_checked_as_what_it_is(check, tmp_path):
    done = check()
    assert done.returncode == 0, done.stderr
    assert "(external-rotation-at-side), right" in done.stderr
    result = json.loads((tmp_path / "out" / CLIP.stem / "result.json").read_text("utf-8"))
    assert result["exercise"] == "external-rotation-at-side"
