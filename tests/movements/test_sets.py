"""Sets in one clip are told apart by the pauses between them."""

import pytest

from formcheck.movements.sets import numbered_sets
from formcheck.movements.types import Rep

GAP_S = 5.0


def reps(*pauses_s, duration_s=3.0, shift_s=0.0, partial=()):
    """Repetitions with these pauses between them; those numbered ``partial`` were broken off."""
    found, start_s = [], 1.0 + shift_s
    for index, pause_s in enumerate((*pauses_s, 0.0)):
        end_s = start_s + duration_s
        found.append(
            Rep(index, "rep", "right", index in partial, start_s, start_s + 1, end_s - 1, end_s)
        )
        start_s = end_s + pause_s
    return found


def sets(found):
    return [rep.set for rep in numbered_sets(found, GAP_S)]


def test_two_sets_of_five_with_a_rest_between_them():
    pauses_s = [0.4, 0.5, 0.4, 0.6, 6.0, 0.4, 0.5, 0.4, 0.6]
    assert sets(reps(*pauses_s)) == [1] * 5 + [2] * 5
    assert sets(reps(*pauses_s, shift_s=40)) == [1] * 5 + [2] * 5


def test_a_shorter_rest_than_the_exercise_says_begins_no_set():
    assert sets(reps(0.4, 4.0, 0.4)) == [1, 1, 1, 1]


@pytest.mark.parametrize("pause_s", [2.0, 6.0, 20.0])
def test_pauses_that_are_usual_in_this_clip_begin_no_set(pause_s):
    assert sets(reps(*[pause_s] * 4, duration_s=10)) == [1] * 5
    assert sets(reps(pause_s, duration_s=30)) == [1, 1]


def test_holds_with_usual_pauses_and_a_long_rest_are_two_sets():
    assert sets(reps(6.0, 7.0, 30.0, 6.0, 7.0, duration_s=10)) == [1] * 3 + [2] * 3


def test_what_was_broken_off_between_two_is_no_rest():
    assert sets(reps(0.5, 0.5, 1.0, 1.0, 0.5, duration_s=6, partial={3})) == [1] * 6


def test_a_movement_broken_off_within_a_long_rest_makes_no_set_of_its_own():
    found = reps(0.5, 0.5, 15.0, 15.0, 0.5, partial={3})
    assert sets(found) == [1, 1, 1, 1, 2, 2]


def test_no_repetition_has_no_set():
    assert numbered_sets([], GAP_S) == []
