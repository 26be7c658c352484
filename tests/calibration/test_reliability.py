"""How far results repeat is worked out as the guide of the record says."""

import math

import pytest

from formcheck.measures.measure import measure_track
from formcheck.records.reliability import study_view
from models.calibration import reliability
from models.calibration.reliability import measure_of, results_of, rows_of, sem_of, view_of
from tests.synthetic import make_track


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
    found = results_of(measure_track(make_track()))
    assert {measure_of(column) for column, _ in found} >= {"shoulder_elevation", "elbow_flexion"}
    low, high = (found["elbow_flexion_right_deg", end] for end in ("lowest", "highest"))
    assert low <= high


def test_nothing_is_said_of_a_measure_that_few_sets_showed():
    column = ("elbow_flexion_right_deg", "highest")
    sets = [[{column: 80.0}, {column: 84.0}]] * reliability._LEAST_SETS
    (row,) = rows_of("front", sets)
    assert (row["measure"], row["view"], row["sets"]) == ("elbow_flexion", "front", len(sets))
    assert row["sem"] == pytest.approx(math.sqrt(8.0))
    assert list(rows_of("front", sets[1:])) == []
