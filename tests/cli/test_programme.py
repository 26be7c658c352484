"""Checking by a client's programme, and without saying which exercise it is."""

import json
import os
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from formcheck.records.clients import add_client
from formcheck.records.programmes import prescribe
from formcheck.records.signature import sign_phase
from formcheck.records.store import open_store

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
    told = " ".join(done.stdout.split())
    assert "count 3 (usually 10)" in told
    assert "dose.count" not in told
    assert "turn-out" not in told
    assert "note: Only" not in told
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


LIMITED = """
client = "heron"
pain_at_most = 3
[[limits]]
measure = "axial_rotation"
never_below = -30
[[phases]]
name = "start"
[[phases.items]]
exercise = "belly-press"
side = "right"
[[phases]]
name = "later"
[[phases.items]]
exercise = "external-rotation-at-side"
side = "right"
[phases.items.dose]
count = 3
[[phases.items.checks]]
id = "turn-out"
high = -20
"""


@pytest.fixture
def place(plan, tmp_path):
    """A record in which heron moved to the second phase on 2 March 2026."""
    with open_store(tmp_path / "records.sqlite", create=True) as store:
        add_client(store, "heron")
        prescribe(store, "heron", plan(LIMITED), from_day=date(2026, 1, 5))
        signed = {"by": "coach", "note": "steady", "although_not_met": True}
        sign_phase(store, "heron", "later", from_day=date(2026, 3, 2), **signed)
    return tmp_path / "records.sqlite"


@pytest.mark.parametrize(("day", "listed"), [("2026-03-03", True), ("2026-02-01", False)])
def test_the_clips_of_a_client_are_judged_by_the_recorded_phase_and_limits(
    check, place, tmp_path, day, listed
):
    asked = ("--client", "Heron", "--records", place, "--exercise", "external-rotation-at-side")
    done = check(*asked, "--date", day, "--no-pdf")
    assert done.returncode == 0, done.stderr
    result = json.loads((tmp_path / "out" / CLIP.stem / "result.json").read_text("utf-8"))
    own, phase = result["prescription"], "later" if listed else "start"
    assert (own["phase"], own["version"], own["listed"]) == (phase, 1, listed)
    assert (result["client"], result["made_on"]) == ("heron", day)
    assert {one["check_id"]: one["state"] for one in result["limits"]} == {
        "never-below-axial-rotation": "passed"
    }
    assert ("is not in version 1 of heron's recorded programme" in done.stderr) is not listed
    page = (tmp_path / "out" / CLIP.stem / "coach.html").read_text("utf-8")
    assert f"version 1 of heron&#39;s recorded programme, phase &#34;{phase}&#34;" in page


def test_a_client_whose_phase_has_changed_is_asked_for_the_day(check, place):
    done = check("--client", "heron", "--records", place)
    assert done.returncode == 2
    assert "say with --date on which day the clips were filmed" in done.stderr


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (("--client", "wren"), 'no client is called "wren"'),
        (("--client", "heron", "--phase", "later"), "leave out --programme and --phase"),
        ((), "say with --client whose"),
    ],
)
def test_what_does_not_go_with_a_recorded_client_is_one_clear_line(check, place, asked, told):
    done = check("--records", place, *asked)
    assert done.returncode == 2
    assert told in done.stderr
