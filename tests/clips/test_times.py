"""Time lines rise, keep what is right and repair what is wrong."""

from fractions import Fraction
from itertools import accumulate, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formcheck.clips.times import (
    SHORTEST_STEP_S,
    Cadence,
    Thinning,
    TimeRepair,
    nominal_step_s,
    with_following,
)

STEP = Fraction(1, 30)
TICK = Fraction(1, 90_000)
GOOD_STEPS = st.integers(round(SHORTEST_STEP_S / TICK), round(299 / TICK))
STAMPS = st.none() | st.integers(round(-10_000 / TICK), round(10_000 / TICK))


def repaired(stamps):
    repair = TimeRepair(STEP)
    times = []
    for number, stamp in enumerate(stamps):
        following = stamps[number + 1] if number + 1 < len(stamps) else None
        times.append(repair.place(stamp, following))
    return times, repair.repaired


def seconds(*frames):
    """Stamps given as frame numbers at the nominal rate; None where there is none."""
    return [None if frame is None else Fraction(frame) * STEP for frame in frames]


@pytest.mark.slow
@given(start=st.integers(-(10**9), 10**9), steps=st.lists(GOOD_STEPS))
def test_good_stamps_come_out_exactly_from_zero_on(start, steps):
    stamps = [ticks * TICK for ticks in accumulate(steps, initial=start)]
    assert repaired(stamps) == ([stamp - stamps[0] for stamp in stamps], 0)


@pytest.mark.slow
@given(st.lists(STAMPS, min_size=1))
def test_any_stamps_give_a_strictly_rising_time_line_from_zero(ticks):
    times, _ = repaired([None if tick is None else tick * TICK for tick in ticks])
    assert times[0] == 0
    assert all(later > earlier for earlier, later in pairwise(times))
    assert [float(time) for time in times] == sorted({float(time) for time in times})


@pytest.mark.parametrize(
    ("stamps", "expected", "count"),
    [
        (seconds(5, 6, None, 8), seconds(0, 1, 2, 3), 1),
        (seconds(None, None, None), seconds(0, 1, 2), 3),
        (seconds(None, None, 50, 51), seconds(0, 1, 2, 3), 2),
        (seconds(0, 1, 1, 3), seconds(0, 1, 2, 3), 1),
        (seconds(0, 1, 1, 2), seconds(0, 1, 1.5, 2), 1),
        (seconds(0, 1, 0, 3), seconds(0, 1, 2, 3), 1),
        (seconds(0, 1, 90_000, 3), seconds(0, 1, 2, 3), 1),
        (seconds(0, 4000, 4001), seconds(0, 4000, 4001), 0),
        (seconds(0, 1, -3000, 3, 4), seconds(0, 1, 2, 3, 4), 1),
        (seconds(100, 101, 0, 1, 3), seconds(0, 1, 2, 3, 5), 1),
        (seconds(0, 1, 90_000, 90_001, 90_003), seconds(0, 1, 2, 3, 5), 1),
        (seconds(9000, 0, 1, 2), seconds(0, 1, 2, 3), 1),
    ],
    ids=[
        "one is missing",
        "all are missing",
        "the first are missing",
        "one repeats the one before",
        "one repeats and the next comes soon",
        "one falls back",
        "one is far ahead",
        "a gap of two minutes is real",
        "one is far behind",
        "the clock begins anew",
        "the clock leaps by an hour",
        "the first is wrong",
    ],
)
def test_wrong_stamps_are_guessed_from_their_neighbours_and_counted(stamps, expected, count):
    assert repaired(stamps) == (expected, count)


def test_a_step_too_short_for_any_camera_counts_as_a_repeated_stamp():
    nudged = STEP + Fraction(1, 90_000)
    times, count = repaired([Fraction(0), STEP, nudged, 3 * STEP])
    assert (times, count) == ([0, STEP, 2 * STEP, 3 * STEP], 1)


@pytest.mark.slow
@given(st.lists(st.permutations(range(4)), min_size=1, max_size=30))
def test_stamps_in_order_of_decoding_do_not_make_the_time_line_drift(groups):
    """Each group of four pictures carries its own stamps, but shuffled."""
    stamps = [STEP * (4 * number + place) for number, group in enumerate(groups) for place in group]
    times, _ = repaired(stamps)
    drift = [abs(time - STEP * number) for number, time in enumerate(times)]
    assert max(drift) <= 8 * STEP


def test_the_nominal_step_comes_from_the_first_rate_that_a_camera_could_have():
    assert nominal_step_s([None, Fraction(90_000), Fraction(25)]) == Fraction(1, 25)
    assert nominal_step_s([Fraction(0), None]) == Fraction(1, 30)


def thinned(times, rate_hz):
    thinning = Thinning(rate_hz)
    return [time for time, following in with_following(times) if thinning.keeps(time, following)]


def even(rate, count=301):
    return [number / Fraction(rate) for number in range(count)]


@pytest.mark.parametrize(
    ("rate", "every"),
    [
        (24, 1),
        (Fraction(30_000, 1001), 1),
        (30, 1),
        (Fraction("30.03"), 1),
        (50, 2),
        (Fraction(60_000, 1001), 2),
        (60, 2),
        (90, 3),
        (120, 4),
        (240, 8),
    ],
)
def test_thinning_to_30_a_second_keeps_every_so_many_pictures(rate, every):
    assert thinned(even(rate), 30.0) == even(rate)[::every]


@pytest.mark.slow
@given(
    every=st.sampled_from([1, 2, 4]),
    jitter=st.lists(st.integers(-100, 100), min_size=41, max_size=41),
)
def test_thinning_stays_even_when_stamps_jitter_by_a_tenth_of_the_step(every, jitter):
    rate = 30 * every
    times = [(number + Fraction(shift, 1000)) / rate for number, shift in enumerate(jitter)]
    kept = thinned(times, 30.0)
    assert kept[:10] == times[::every][:10]


def test_thinning_keeps_what_comes_after_a_gap():
    times = [*even(60, 5), *(10 + time for time in even(60, 5))]
    assert thinned(times, 30.0) == [*even(60, 5)[::2], *(10 + time for time in even(60, 5)[::2])]


def test_without_a_rate_all_pictures_stay():
    assert thinned(even(240), None) == even(240)


def cadence(times):
    total = Cadence(1 / 30)
    for time in times:
        total.add(float(time))
    return total


def test_the_cadence_counts_the_last_picture_as_lasting_a_usual_step():
    total = cadence(even(25, 50))
    assert total.frames == 50
    assert total.duration_s == pytest.approx(2.0)
    assert total.mean_rate_hz == pytest.approx(25)


def test_one_picture_lasts_the_nominal_step():
    total = cadence([0])
    assert (total.frames, total.duration_s, total.variable) == (1, 1 / 30, False)
    assert total.mean_rate_hz == pytest.approx(30)


@pytest.mark.parametrize(
    ("times", "variable"),
    [
        (even(30), False),
        ([round(float(time), 3) for time in even(60)], False),
        (even(30)[:100] + even(30)[101:], False),
        ([*even(30, 100), *(10 + time for time in even(30, 100))], True),
        ([*even(30, 100), *(4 + time for time in even(24, 100))], True),
    ],
    ids=["steady", "rounded to milliseconds", "one picture dropped", "a gap", "slower later"],
)
def test_a_rate_is_variable_if_much_of_the_time_lies_in_unusual_steps(times, variable):
    assert cadence(times).variable is variable
