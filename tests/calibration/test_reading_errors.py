"""How readings err is found from what was read and what is true, and no more than the data show."""

import numpy as np
import pytest

from models.calibration.reading_errors import LEAST_CLIPS, Departures, as_data, fit, fitted
from models.calibration.verdicts import Ruling


def made(*, gain=1.0, near=1.0, far=1.0, far_share=0.0, clips=400, sd=4.0):
    """Readings of which the truth departs from usual by ``gain`` for each one read, in the mean."""
    random = np.random.default_rng(7)
    read = random.uniform(-40, 40, clips)
    scale = np.where(random.random(clips) < far_share, far, near)
    true = gain * read + sd * scale * random.normal(size=clips)
    return Departures(read, true, np.full(clips, sd), np.ones(clips))


def test_errors_as_stated_are_left_as_they_are():
    errors = fit(made())
    assert (errors.gain, errors.far_share) == (1.0, 0.0)
    assert errors.near == pytest.approx(1.0, abs=0.1)


def test_few_far_worse_readings_are_told_from_many_that_err_less():
    errors = fit(made(near=0.95, far=4.0, far_share=0.04, clips=1600))
    assert errors.near == pytest.approx(0.95, abs=0.1)
    assert errors.far == pytest.approx(4.0, abs=0.8)
    assert errors.far_share == pytest.approx(0.04, abs=0.02)


def test_most_of_what_is_stated_stays_however_small_the_errors_of_made_people_are():
    assert fit(made(near=0.3)).near == pytest.approx(0.85)


def test_nothing_is_made_smaller_where_what_is_stated_holds_too_few_truths():
    """Errors that are small only because the usual is assumed would leave the few faults unseen."""
    true = made(near=0.4)
    overshot = Departures(1.4 * true.read, true.true, true.sd, true.weight)
    assert (fit(true).near, fit(overshot).near) == (0.85, 1.0)


@pytest.mark.parametrize("gain", [0.6, 0.8, 1.0])
def test_the_departure_for_each_that_is_read_is_found(gain):
    assert fit(made(gain=gain)).gain == pytest.approx(gain, abs=0.03)


def test_a_clip_counts_as_one_however_many_repetitions_it_shows():
    one = made(near=0.9, clips=100)
    twice = Departures(
        *(np.repeat(part, 2) for part in (one.read, one.true, one.sd)), np.full(200, 0.5)
    )
    assert fit(twice) == fit(one)


def ruling(clip, measure="hike"):
    return Ruling(
        measure, "front", "within", "within", f"{measure}, max", 0.5, 1.0,
        clip=f"tune {clip}", value=0.5, true=0.0, usual=-0.5,
    )  # fmt: skip


def test_too_few_clips_teach_nothing():
    many = [ruling(number) for number in range(LEAST_CLIPS)]
    few = [ruling(number, "trunk_turn") for number in range(LEAST_CLIPS - 1) for _ in range(9)]
    assert list(fitted([*many, *few])) == [("hike", "value")]


def test_the_table_names_what_it_was_read_on():
    data = as_data(fitted(ruling(number) for number in range(LEAST_CLIPS)), "made people")
    assert data["read_on"] == "made people"
    (row,) = data["errors"]
    assert (row["measure"], row["kind"], row["clips"]) == ("hike", "value", LEAST_CLIPS)
