"""Repetitions and holds of one signal: exact counts and times, and what is not a repetition."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import find_peaks

from formcheck.movements.excursions import find_excursions, prominent_maxima
from tests.synthetic import cycles

STEP = 1 / 30


def times(duration_s):
    return np.arange(round(duration_s / STEP)) * STEP


def reps_curve(starts, top=110.0, rest=8.0, up_s=1.5, top_s=0.5, down_s=1.5):
    return cycles(starts, rest, top, up_s=up_s, top_s=top_s, down_s=down_s)


def whole(found):
    return [e for e in found if e.complete]


def noisy(values, sd=1.0, seed=0):
    return values + np.random.default_rng(seed).normal(0, sd, len(values))


def test_five_repetitions_are_five_with_their_times():
    starts = [1.0, 5.0, 9.0, 13.0, 17.0]
    t = times(22)
    found = find_excursions(t, noisy(reps_curve(starts)(t)), 25)
    assert len(whole(found)) == len(found) == 5
    for start, e in zip(starts, found, strict=True):
        assert e.start_s == pytest.approx(start, abs=0.25)
        assert e.top_start_s == pytest.approx(start + 1.5, abs=0.25)
        assert e.top_end_s == pytest.approx(start + 2.0, abs=0.25)
        assert e.end_s == pytest.approx(start + 3.5, abs=0.25)
        assert e.height == pytest.approx(102, abs=4)


def test_hold_time_is_the_time_between_arrival_and_departure():
    t = times(24)
    curve = reps_curve([1.0, 12.0], top=90, up_s=1.4, top_s=7.0, down_s=1.4)(t)
    found = whole(find_excursions(t, noisy(curve), 25))
    assert [e.top_end_s - e.top_start_s for e in found] == pytest.approx([7.0, 7.0], abs=0.4)


@pytest.mark.parametrize("up_s", [0.5, 1.0, 3.0, 6.0])
def test_slow_and_fast_repetitions_count_alike(up_s):
    starts = [1 + i * (2 * up_s + 2) for i in range(4)]
    t = times(starts[-1] + 2 * up_s + 2)
    curve = reps_curve(starts, up_s=up_s, down_s=up_s)(t)
    assert len(whole(find_excursions(t, noisy(curve), 25))) == 4


def test_a_clip_that_begins_at_the_top_has_one_partial_repetition_more():
    t = times(20)
    curve = reps_curve([1.0, 6.0, 11.0])(t)
    begun = t >= 2.7  # filming starts while the first repetition is at its top
    found = find_excursions(t[begun], curve[begun], 25)
    assert len(whole(found)) == 2
    assert [e.complete for e in found] == [False, True, True]


def test_a_clip_that_ends_on_the_way_up_has_one_partial_repetition_more():
    t = times(12.2)
    found = find_excursions(t, reps_curve([1.0, 6.0, 11.0])(t), 25)
    assert [e.complete for e in found] == [True, True, False]


def test_a_broken_off_repetition_is_reported_as_partial_and_not_counted():
    t = times(22)
    curve = reps_curve([1.0, 5.0, 9.0, 13.0])(t) + reps_curve([17.0], top=44, rest=0)(t)
    found = find_excursions(t, curve, 25)
    assert len(whole(found)) == 4
    assert [e.complete for e in found] == [True, True, True, True, False]


def test_half_range_throughout_is_still_counted():
    t = times(22)
    curve = reps_curve([1.0, 5.0, 9.0, 13.0, 17.0], top=60)(t)
    assert len(whole(find_excursions(t, noisy(curve), 25))) == 5


def test_bringing_the_hand_into_place_is_not_a_hold():
    """A big change of level before and after three small lifts, as in a lift-off behind the back."""
    t = times(34)
    place = cycles([1.0], -5.0, 25.0, up_s=2.0, top_s=26.0, down_s=2.0)(t)
    lifts = cycles([4.0, 12.0, 20.0], 0.0, 6.0, up_s=0.9, top_s=6.0, down_s=0.9)(t)
    found = whole(find_excursions(t, noisy(place + lifts, 0.2), 3.0))
    assert len(found) == 3
    for start, e in zip([4.0, 12.0, 20.0], found, strict=True):
        assert e.start_s == pytest.approx(start, abs=0.35)
        assert e.top_end_s - e.top_start_s == pytest.approx(6.0, abs=0.5)


def test_wobble_during_a_hold_does_not_split_it():
    t = times(14)
    curve = reps_curve([1.0], top=90, up_s=1.4, top_s=8.0, down_s=1.4)(t)
    wobble = 8 * np.sin(2 * np.pi * 0.7 * t) * ((t > 3) & (t < 9))
    assert len(find_excursions(t, curve + wobble, 25)) == 1


def test_stillness_and_fidgeting_are_no_repetitions():
    t = times(20)
    assert find_excursions(t, np.full(len(t), 10.0), 25) == []
    assert find_excursions(t, noisy(10 + 8 * np.sin(t), 2.0), 25) == []


@settings(max_examples=25, deadline=None)
@given(
    count=st.integers(1, 8),
    up_s=st.floats(0.7, 3.0),
    top_s=st.floats(0.0, 4.0),
    pause_s=st.floats(0.4, 2.0),
    top=st.floats(60, 160),
    seed=st.integers(0, 1000),
)
def test_any_regular_set_is_counted_exactly(count, up_s, top_s, pause_s, top, seed):
    cycle = 2 * up_s + top_s + pause_s
    starts = [1.5 + i * cycle for i in range(count)]
    t = times(starts[-1] + cycle + 1.5)
    curve = reps_curve(starts, top=top, up_s=up_s, top_s=top_s, down_s=up_s)(t)
    found = find_excursions(t, noisy(curve, 1.0, seed), 25)
    assert len(found) == len(whole(found)) == count


@settings(max_examples=15, deadline=None)
@given(shift_s=st.floats(0, 100), scale=st.floats(0.5, 3.0))
def test_time_shift_and_scale_change_no_count(shift_s, scale):
    t = times(22)
    curve = noisy(reps_curve([1.0, 5.0, 9.0, 13.0, 17.0])(t))
    plain = find_excursions(t, curve, 25)
    moved = find_excursions(t + shift_s, scale * curve, 25 * scale)
    assert len(moved) == len(plain)
    for a, b in zip(plain, moved, strict=True):
        assert b.start_s - shift_s == pytest.approx(a.start_s, abs=1e-6)


@given(st.lists(st.integers(0, 6), min_size=1, max_size=40), st.floats(0.1, 4))
def test_prominent_maxima_are_those_that_scipy_finds_between_bottomless_ends(values, prominence):
    signal = np.array(values, dtype=float)
    padded = np.concatenate(([-1000.0], signal, [-1000.0]))
    theirs = find_peaks(padded, prominence=prominence)[0] - 1
    # Of tops of one height with no such valley between, scipy gives all, and one is enough.
    apart = [
        top
        for k, top in enumerate(theirs)
        if not any(
            signal[other] == signal[top]
            and signal[top] - signal[other : top + 1].min() < prominence
            for other in theirs[:k]
        )
    ]
    assert prominent_maxima(signal, prominence) == apart


def test_a_hold_that_trembles_by_nothing_is_one_hold():
    curve = reps_curve([2.0])(times(8))
    top = np.flatnonzero(curve == curve.max())
    flat = np.repeat(curve, 2)
    flat[2 * top[len(top) // 2]] -= 1e-9
    assert len(prominent_maxima(flat, 20.0)) == 1
