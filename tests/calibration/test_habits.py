"""The habit of reading faults as usual is found where there is one, and only there."""

import numpy as np
import pytest

from formcheck.catalogue.views import FilmingView
from models.calibration.habits import Departure, as_data, fit, habits, told


def made(share, *, error=2.0, stated=None, count=400, faulty=True, measure="elbow_flexion"):
    """Arms of which that share of a departure is read."""
    random = np.random.default_rng(7)
    for true in random.uniform(-40, 40, count) if faulty else random.uniform(-14, 14, count):
        read = share * true + random.normal(0, error)
        yield Departure(measure, FilmingView.FRONT, read, true, stated or error)


@pytest.mark.parametrize("share", [0.5, 0.7, 1.0])
def test_the_share_of_a_departure_that_is_read_is_found(share):
    assert fit(list(made(share))).slope == pytest.approx(share, abs=0.05)


def test_what_the_stated_uncertainty_lacks_is_added():
    assert fit(list(made(1.0, error=6.0))).extra_sd < 2.5
    lacking = fit(list(made(1.0, error=6.0, stated=2.0)))
    assert lacking.extra_sd == pytest.approx(np.sqrt(36 - 4), abs=1.0)


def test_noise_is_not_taken_for_a_departure_that_is_read_too_large():
    assert fit(list(made(1.0, error=30.0))).slope == 1.0


def test_who_never_did_it_otherwise_teaches_nothing():
    assert fit(list(made(0.5, faulty=False))) is None
    assert habits(made(0.5, count=20)) == {}


def test_the_table_names_what_it_was_read_on():
    data = as_data(habits(made(0.5)), "made people")
    assert data["read_on"] == "made people"
    (row,) = data["habits"]
    assert (row["measure"], row["view"], row["arms"]) == ("elbow_flexion", "front", 400)


def test_a_habit_undone_brings_the_truth_back_within_what_is_stated():
    rows = list(made(0.5))
    before, after = told(rows, {}), told(rows, habits(rows))
    covered = [int(text.splitlines()[-1].split("|")[-2]) for text in (before, after)]
    assert covered[0] < 20
    assert covered[1] > 90
