"""How much a joint changes within a repetition is judged by itself."""

import numpy as np
import pytest

from formcheck.catalogue.codes import Verdict
from formcheck.catalogue.views import MeasuredView
from formcheck.checks.reading_errors import errors_of
from formcheck.checks.result import Finding
from formcheck.checks.spread import spread
from formcheck.checks.statistics import read_check
from formcheck.checks.verdict import judge
from formcheck.exercises.library import load_exercise
from formcheck.measures.table import MeasureTable, Series, View
from formcheck.movements.types import Rep

STEADY = next(one for one in load_exercise("bent-elbow-circle").checks if one.id == "elbow-steady")
SD_DEG = 7.5


def finding_of(elbow_deg, *, start_s=0.0, rate_hz=30.0, side="right") -> Finding:
    """What is found of a circle from 1 to 3 s in which the elbow bends so, over time."""
    time_s = start_s + np.arange(round(4 * rate_hz)) / rate_hz
    values = elbow_deg(time_s - start_s)
    columns = {f"elbow_flexion_{side}_deg": Series(values, np.full(len(values), SD_DEG))}
    still = np.zeros(len(time_s), dtype=bool)
    view = View(MeasuredView.OBLIQUE_RIGHT, 45.0, 5.0)
    table = MeasureTable(time_s, columns, view, {}, still, still)
    circle = Rep(1, "circle", side, False, start_s + 1, start_s + 2, start_s + 2, start_s + 3)
    return judge(STEADY, read_check(table, circle, STEADY), errors=errors_of(STEADY, circle.kind))


def wandering(amount_deg):
    return lambda t: 90 + amount_deg / 2 * np.sin(np.pi * t)


@pytest.mark.parametrize("amount_deg", [2, 8, 12])
def test_an_elbow_that_reads_as_nearly_still_is_within(amount_deg):
    assert finding_of(wandering(amount_deg)).verdict == Verdict.WITHIN


@pytest.mark.parametrize(
    ("amount_deg", "verdict"),
    [(24, Verdict.BORDERLINE), (35, Verdict.BORDERLINE), (64, Verdict.OUTSIDE)],
)
def test_an_elbow_that_wanders_is_told_though_each_of_its_readings_is_in_the_target(
    amount_deg, verdict
):
    assert finding_of(wandering(amount_deg)).verdict == verdict


def test_the_more_an_elbow_wanders_the_surer_it_is_told():
    told = [finding_of(wandering(amount)).probability_outside for amount in (2, 12, 24, 35, 64)]
    assert told == sorted(told)
    assert told[0] < 0.01


def test_a_few_bad_readings_are_no_change():
    bad = lambda t: np.where(np.abs(t - 2) < 0.02, 150.0, 90.0)  # noqa: E731
    assert finding_of(bad).value == pytest.approx(0, abs=1)


def test_the_other_arm_another_time_and_another_frame_rate_change_no_spread():
    usual = finding_of(wandering(30)).value
    assert finding_of(wandering(30), side="left").value == pytest.approx(usual)
    assert finding_of(wandering(30), start_s=7.0).value == pytest.approx(usual, abs=0.5)
    assert finding_of(wandering(30), rate_hz=60.0).value == pytest.approx(usual, abs=2)


def test_a_large_change_is_read_as_it_is():
    assert spread("elbow_flexion", np.linspace(0, 140, 1001), 5.0)[0] == pytest.approx(131.6)


def test_a_measure_that_no_spread_was_read_of_has_the_uncertainty_of_a_change():
    assert spread("trunk_lean_side", np.linspace(0, 10, 101), 2.0) == pytest.approx((9.4, 2.0))
