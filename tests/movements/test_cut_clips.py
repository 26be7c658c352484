"""Repetitions at the ends of a clip, and fast ones: whole where they were seen whole, and only there."""

import numpy as np
import pytest

from formcheck.exercises.library import load_exercise
from formcheck.measures.measure import measure_track
from formcheck.movements.excursions import find_excursions
from formcheck.movements.segment import find_reps
from tests.synthetic import Arm, constant, make_track, smooth_step

RATE_HZ = 30.0


def wave(first_s, last_s, period_s=2.0, height=80.0, rest_s=0.0):
    """Up and down without a pause, at rest at 0 s, ``period_s``, ... and for ``rest_s`` at the end."""
    time_s = np.arange(round(first_s * RATE_HZ), round(last_s * RATE_HZ) + 1) / RATE_HZ
    level = height * (1 - np.cos(2 * np.pi * time_s / period_s)) / 2
    still = np.full(round(rest_s * RATE_HZ), level[-1])
    return (
        np.arange(len(time_s) + len(still)) / RATE_HZ + first_s,
        np.concatenate([level, still]),
    )


def complete(first_s, last_s, **shape):
    return [one.complete for one in find_excursions(*wave(first_s, last_s, **shape), 20.0)]


def test_a_clip_that_begins_and_ends_at_rest_holds_whole_repetitions_only():
    assert complete(0.0, 6.0, rest_s=0.3) == [True, True, True]


@pytest.mark.parametrize(("first_s", "last_s", "rest_s"), [(0.4, 6.0, 0.3), (0.0, 5.6, 0.0)])
def test_a_repetition_that_the_edge_cuts_is_partial(first_s, last_s, rest_s):
    found = complete(first_s, last_s, rest_s=rest_s)
    assert (sum(found), len(found)) == (2, 3)


def held(*, first_s=0.0, last_s=20.0):
    """Two holds of 6 s at 80, neither quite still: each dips by 2 now and then."""
    time_s = np.arange(round(first_s * RATE_HZ), round(last_s * RATE_HZ) + 1) / RATE_HZ
    share = sum(
        smooth_step((time_s - at) / 1.2) - smooth_step((time_s - at - 7.2) / 1.2)
        for at in (1.0, 11.0)
    )
    return time_s, share * (80 + 2 * np.sin(2 * np.pi * time_s / 2.9))


@pytest.mark.parametrize("first_s", np.arange(2.4, 8.0, 0.4))
def test_a_hold_that_has_begun_before_the_clip_is_partial_however_the_arm_trembles(first_s):
    found = [one.complete for one in find_excursions(*held(first_s=first_s), 20.0)]
    assert found == [False, True]


@pytest.mark.parametrize("last_s", np.arange(12.4, 18.0, 0.4))
def test_so_is_a_hold_that_goes_on_after_it(last_s):
    found = [one.complete for one in find_excursions(*held(last_s=last_s), 20.0)]
    assert found == [True, False]


@pytest.mark.parametrize("period_s", [0.6, 0.8, 1.0])
def test_fast_repetitions_are_counted(period_s):
    assert complete(0.0, 12 * period_s, period_s=period_s, rest_s=0.3) == [True] * 12


def test_arms_that_come_to_rest_elsewhere_have_not_finished():
    """Swept overhead, then down to the face: the upper arms hang again, the hands do not."""
    up = lambda t: smooth_step((t - 1) / 1.2) - smooth_step((t - 3) / 1.2)  # noqa: E731
    sweep = lambda t: 10 + 130 * up(t)  # noqa: E731
    to_face = Arm(sweep, constant(5.0), elbow=lambda t: 8 + 120 * smooth_step((t - 3) / 1.2))
    to_sides = Arm(sweep, constant(5.0))
    exercise = load_exercise("side-raise")
    for arm, partial in ((to_face, True), (to_sides, False)):
        table = measure_track(make_track(duration_s=4.3, left=arm, right=arm))
        reps = find_reps(table, exercise, ("left", "right"))
        assert [rep.partial for rep in reps] == [partial]
