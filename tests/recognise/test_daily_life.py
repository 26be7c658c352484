"""What people do with their arms in daily life is none of the exercises."""

import pytest

from formcheck.exercises.library import library_names, load_exercise
from formcheck.measures.measure import measure_track
from formcheck.pipeline.selection import MIN_CONFIDENCE
from formcheck.recognise.recognise import recognise
from tests.synthetic import Arm, constant, cycles, make_track
from tests.synthetic_daily import FRESH, LATER, MOVEMENTS, OTHERS, daily_track

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def library():
    return [load_exercise(name) for name in library_names()]


@pytest.mark.parametrize("yaw_deg", [0.0, 40.0])
@pytest.mark.parametrize("movement", [*MOVEMENTS, *OTHERS, *LATER])
def test_no_exercise_is_surely_recognised_in_it(library, movement, yaw_deg):
    table = measure_track(daily_track(movement, 1 if yaw_deg == 0 else 2, yaw_deg))
    found = recognise(table, library)
    assert not found or found[0].probability < MIN_CONFIDENCE


def test_what_nothing_was_chosen_by_is_seldom_taken_for_an_exercise(library):
    """Pouring from a kettle is a hand that rests at the belly; a page is turned as a forearm rotates."""
    surely = []
    for movement in FRESH:
        found = recognise(measure_track(daily_track(movement, 12, 40.0)), library)
        surely += [movement.__name__ for guess in found[:1] if guess.probability >= MIN_CONFIDENCE]
    assert len(surely) <= 1


def test_a_movement_done_once_is_less_surely_an_exercise_than_a_set_of_it(library):
    def row(*starts_s):
        ways = {"up_s": 1.0, "top_s": 0.5, "down_s": 1.0}
        arm = Arm(
            elevation=cycles(starts_s, 50, 25, **ways),
            plane=cycles(starts_s, 80, -20, **ways),
            elbow=cycles(starts_s, 30, 90, **ways),
        )
        found = recognise(measure_track(make_track(duration_s=16, right=arm)), library)
        return {guess.exercise.name: guess.probability for guess in found}["row"]

    assert row(4.0) < MIN_CONFIDENCE < row(2.0, 6.0, 10.0)


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
