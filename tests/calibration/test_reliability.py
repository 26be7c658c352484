"""How far results repeat is worked out as the guide of the record says."""

import math
from dataclasses import replace

import numpy as np
import pytest

from formcheck.exercises.library import load_exercise
from formcheck.landmarks.sides import put_back
from formcheck.measures.measure import measure_track
from formcheck.records.reliability import study_view
from models.calibration import reliability
from models.calibration.reliability import (
    by_view,
    judged_results,
    measure_of,
    results_of,
    rows_of,
    sem_of,
    view_of,
)
from tests.synthetic import Arm, cycles, make_track

CURLS = Arm(elbow=cycles([1.0, 5.0], 10, 130, up_s=1.2, top_s=0.4, down_s=1.2))


def exchanged_in(track, *spans):
    """The track as a model gives it that takes left for right in these spans of pictures."""
    at = np.zeros(len(track.time_s), dtype=bool)
    for start, stop in spans:
        at[start:stop] = True
    arrays = [values.copy() for values in (track.image_px, track.world_m, track.visibility)]
    put_back(at, *arrays)  # an exchange is its own inverse
    image, world, visibility = arrays
    return replace(track, image_px=image, world_m=world, visibility=visibility)


def test_the_sem_is_the_spread_within_sets_and_not_between_them():
    assert sem_of([[80.0, 84.0], [20.0, 24.0]]) == pytest.approx(math.sqrt(8.0))


def test_sets_that_were_filmed_more_often_count_for_more():
    assert sem_of([[0.0, 2.0], [0.0, 0.0, 0.0, 6.0]]) == pytest.approx(math.sqrt((2 + 27) / 4))


@pytest.mark.parametrize(
    ("yaw_deg", "view"),
    [(0, "front"), (-29, "front"), (350, "front"), (45, "oblique"), (-90, "side"), (180, "back")],
)
def test_a_turn_of_the_body_is_a_view_as_the_record_calls_it(yaw_deg, view):
    assert view_of(yaw_deg) == study_view(yaw_deg) == view


def test_what_a_filming_comes_to_is_read_from_its_measures():
    found = results_of(measure_track(make_track()), ["right"])
    measures = {measure_of(column) for column, _ in found}
    assert measures >= {"shoulder_elevation", "elbow_flexion", "trunk_lean_side"}
    low, high = (found["elbow_flexion_right_deg", end] for end in ("lowest", "highest"))
    assert low <= high


def test_only_the_arm_that_does_the_exercise_counts_and_the_trunk():
    found = judged_results(make_track(right=CURLS), load_exercise("elbow-curl"))
    columns = {column for column, _ in found}
    assert {"elbow_flexion_right_deg", "trunk_lean_side_deg"} <= columns
    assert "elbow_flexion_left_deg" not in columns


def test_a_filming_without_a_repetition_is_left_out():
    assert judged_results(make_track(), load_exercise("elbow-curl")) is None


def test_a_filming_is_left_out_where_nothing_tells_left_from_right():
    track = make_track(right=CURLS)
    often = exchanged_in(track, *((at, at + 10) for at in range(20, 280, 20)))
    assert judged_results(often, load_exercise("elbow-curl")) is None


def test_exchanged_sides_are_put_back_first():
    track = make_track(right=CURLS)
    once, own = (
        judged_results(one, load_exercise("elbow-curl"))
        for one in (exchanged_in(track, (50, 80)), track)
    )
    high = ("elbow_flexion_right_deg", "highest")
    assert once[high] == pytest.approx(own[high], abs=1.0)


@pytest.mark.parametrize(("yaw_deg", "far"), [(90, "left"), (-90, "right")])
def test_from_the_side_the_far_arm_is_kept_apart(yaw_deg, far):
    near = {"left": "right", "right": "left"}[far]
    columns = {side: (f"elbow_flexion_{side}_deg", "highest") for side in (near, far)}
    trunk = ("trunk_turn_deg", "highest")
    filming = {columns[near]: 90.0, columns[far]: 70.0, trunk: 5.0}
    parts = by_view([filming], yaw_deg)
    assert parts == {
        study_view(yaw_deg): [{columns[near]: 90.0, trunk: 5.0}],
        study_view(yaw_deg, far): [{columns[far]: 70.0}],
    }


def test_nothing_is_said_of_a_measure_that_few_sets_showed():
    column = ("elbow_flexion_right_deg", "highest")
    sets = [[{column: 80.0}, {column: 84.0}]] * reliability._LEAST_SETS
    (row,) = rows_of("front", sets)
    assert (row["measure"], row["view"], row["sets"]) == ("elbow_flexion", "front", len(sets))
    assert row["sem"] == pytest.approx(math.sqrt(8.0))
    assert list(rows_of("front", sets[1:])) == []
