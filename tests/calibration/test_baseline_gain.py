"""What reading a set as a change gains is worked out as the page on it says."""

import numpy as np
import pytest

from formcheck.records import reliability
from models.calibration import baseline_gain
from models.calibration.baseline_gain import Pair, rows, studied


def pair(error, *, stated=(2.0, 2.0), kind="again", change=0.0):
    return Pair("hike", "hike", "front", kind, change, 1.0, 2.0, error, stated, 1.0)


def test_the_factor_is_how_far_the_widest_of_twenty_changes_errs_beyond_what_filmings_do():
    errors = np.linspace(-4.0, 4.0, 101)
    (row,) = studied([pair(error) for error in errors])
    assert row["factor"] == pytest.approx(0.95 * 4.0 / 1.96, abs=0.05)
    assert (row["stated"], row["pairs"]) == (2.0, 101)


def test_readings_that_are_unusually_unsure_are_left_to_their_stated_uncertainty():
    wild = [pair(30.0, stated=(2.0, 9.0))] * 20
    (row,) = studied([pair(0.5)] * 40 + wild)
    assert (row["factor"], row["pairs"]) == (1.0, 40)


def test_few_pairs_say_nothing():
    assert list(studied([pair(0.0)] * (baseline_gain._LEAST_PAIRS - 1))) == []


def test_a_difference_is_told_where_it_is_larger_than_its_error(monkeypatch):
    for module in (reliability, baseline_gain):
        monkeypatch.setattr(module, "changes", dict)
    faulty = [pair(0.0, kind="hike", change=3.0), pair(2.0, kind="hike", change=3.0)]
    (_, cells), *_ = rows([*faulty, pair(0.0)])
    told = dict(zip(baseline_gain._HEAD, cells, strict=True))
    assert told["faults told, change"] == "50 %"  # 3 and 5 cm, where 3.9 can be told
    assert told["clean told, change"] == "0 %"
