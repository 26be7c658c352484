"""The recipe of DEVELOPERS.md for a new measure is all that there is to it: a row of the catalogue, a
function with its uncertainty, and a test on exact motion.

Rows are read at import, so the measure is added in an interpreter of its own.
"""

import json
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

RECIPE = """
import numpy as np

from formcheck.catalogue.codes import ReasonCode
from formcheck.catalogue.measures import MEASURES, Measure, Scope

MEASURES["hand_reach"] = Measure(
    "hand_reach", "cm", Scope.ARM, (-120, 120), "how far the hand is out to the side",
    joint="wrist", unseen=ReasonCode.ARM_HIDDEN, csv_place=6, useful_tolerance=10,
)

from formcheck.measures import registry
from formcheck.measures.table import Series


def hand_reach(posture, side):
    out = posture.world_of("wrist", side) - posture.world_of("shoulder", side)
    value = 100 * posture.into_trunk(out, side)[:, 0]
    return Series(value, np.full(len(value), 2.0))


registry.ARM["hand_reach"] = hand_reach
"""

USE = """
import json, sys
from pathlib import Path

from formcheck.checks.judge import judge_reps
from formcheck.exercises.library import load_exercise
from formcheck.exercises.reference import reference_markdown
from formcheck.measures.measure import measure_track
from formcheck.movements.segment import find_reps
from formcheck.sheets.export.csv_tables import write_measures_csv
from tests.synthetic import FOREARM_M, UPPER_ARM_M, Arm, constant, cycles, make_track

folder = Path(sys.argv[1])
arm = Arm(
    elevation=cycles([1.0, 6.0], 8, 90, up_s=1.5, top_s=1.0, down_s=1.5),
    plane=constant(0.0), elbow=constant(0.0),
)
table = measure_track(make_track(right=arm))
exercise = load_exercise(folder / "reach-out.toml")
reps = find_reps(table, exercise, ("right",))
judged = judge_reps(table, exercise, reps)
write_measures_csv(table, folder / "measures.csv")
print(json.dumps({
    "arm_cm": 100 * (UPPER_ARM_M + FOREARM_M),
    "read_cm": float(np.nanmax(table.series("hand_reach", "right").value)),
    "verdicts": [f.verdict for j in judged for f in j.findings if f.id == "reach"],
    "units": [f.unit for j in judged for f in j.findings if f.id == "reach"],
    "reference": "| `hand_reach` | cm | -120 | 120 | how far the hand is" in reference_markdown(),
}))
"""

EXERCISE = """
like = "side-raise"
name = "reach-out"
title = "Reach out"

[[checks]]
id = "reach"
measure = "hand_reach"
statistic = "max"
phase = "top"
low = 70.0
tolerance = 2.0
importance = "range"
cue = "Reach further out."
praise = "You reached far out."
source = "common practice, no source"
"""


@pytest.fixture(scope="module")
def used(tmp_path_factory):
    folder = tmp_path_factory.mktemp("measure")
    (folder / "reach-out.toml").write_text(EXERCISE, "utf-8")
    done = subprocess.run(
        [sys.executable, "-c", RECIPE + USE, str(folder)],
        capture_output=True,
        text=True,
        check=False,
        cwd=Path(__file__).parents[2],
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout), (folder / "measures.csv").read_text("utf-8")


def test_it_is_exact_on_exact_motion(used):
    assert used[0]["read_cm"] == pytest.approx(used[0]["arm_cm"], abs=0.5)


def test_exercise_files_may_name_it_and_repetitions_are_judged_by_it(used):
    assert used[0]["verdicts"] == ["outside", "outside"]
    assert used[0]["units"] == ["cm", "cm"]


def test_the_reference_of_exercise_files_explains_it(used):
    assert used[0]["reference"]


def test_it_has_its_place_in_the_table_of_measures_behind_all_others(used):
    header = used[1].splitlines()[0].split(",")
    assert header[-5:] == [
        "hand_reach_left_cm",
        "hand_reach_left_cm_sd",
        "hand_reach_right_cm",
        "hand_reach_right_cm_sd",
        "bridged",
    ]
