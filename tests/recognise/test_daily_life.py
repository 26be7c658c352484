"""What people do with their arms in daily life is none of the exercises."""

import pytest

from formcheck.exercises.library import library_names, load_exercise
from formcheck.measures.measure import measure_track
from formcheck.pipeline.selection import MIN_CONFIDENCE
from formcheck.recognise.recognise import recognise
from tests.synthetic import Arm, constant, cycles, make_track
from tests.synthetic_daily import MOVEMENTS, daily_track

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def library():
    return [load_exercise(name) for name in library_names()]


@pytest.mark.parametrize("yaw_deg", [0.0, 40.0])
@pytest.mark.parametrize("movement", MOVEMENTS)
def test_no_exercise_is_surely_recognised_in_it(library, movement, yaw_deg):
    table = measure_track(daily_track(movement, 1 if yaw_deg == 0 else 2, yaw_deg))
    found = recognise(table, library)
    assert not found or found[0].probability < MIN_CONFIDENCE


def test_who_waves_overhead_does_no_push_up_at_a_wall(library):
    arm = Arm(
        elevation=cycles([1.5, 4.0, 6.5, 9.0], 60, 150, up_s=0.9, top_s=0.3, down_s=0.9),
        plane=constant(30.0),
        elbow=cycles([1.5, 4.0, 6.5, 9.0], 20, 75, up_s=0.9, top_s=0.3, down_s=0.9),
    )
    found = recognise(measure_track(make_track(duration_s=13, right=arm, left=arm)), library)
    named = {guess.exercise.name: guess.probability for guess in found}
    assert named.get("push-up-plus-wall", 0.0) < 0.03
    assert named.get("push-up-plus", 0.0) == 0.0
