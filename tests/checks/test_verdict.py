"""The decision rule: simple acceptance, guarded rejection (terms of JCGM 106:2012)."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formcheck.catalogue.codes import Importance, Message, ReasonCode
from formcheck.catalogue.views import MeasuredView
from formcheck.checks.statistics import Reading, read_check
from formcheck.checks.verdict import judge
from formcheck.exercises.schema import Check
from formcheck.measures.table import MeasureTable, Series, View
from formcheck.movements.types import Rep


def check(low=85.0, high=95.0, tolerance=15.0):
    return Check(
        id="elbow",
        measure="elbow_flexion",
        statistic="mean",
        low=low,
        high=high,
        tolerance=tolerance,
        importance=Importance.POSITION,
        cue="Keep your elbow bent to a right angle.",
        praise="Your elbow kept its right angle.",
        source="common practice, no source",
    )


def verdict(value, sd, **limits):
    return judge(check(**limits), Reading(value, sd, 1.0, "deg")).verdict


@pytest.mark.parametrize(
    ("value", "sd", "expected"),
    [
        (90, 5, "within"),
        (110, 5, "within"),  # on the limit
        (111, 5, "borderline"),
        (118.0, 5, "borderline"),  # 8.0 over, 1.645 x 5 = 8.2 allowed
        (118.5, 5, "outside"),
        (61.0, 5, "outside"),
        (63.0, 5, "borderline"),
        (90, 21, "not-measurable"),  # the band is 40 wide, two uncertainties are 42
        (160, 21, "outside"),  # far enough off to be sure all the same
    ],
)
def test_outside_only_when_the_uncertainty_cannot_explain_it(value, sd, expected):
    assert verdict(value, sd) == expected


def test_each_end_of_a_target_has_its_own_words_where_they_are_given():
    two = check().model_copy(update={"cue_above": "Bend it less.", "cue_below": "Bend it more."})
    told = [judge(two, Reading(value, 2.0, 1.0, "deg")).cue for value in (40.0, 90.0, 140.0)]
    assert told == ["Bend it more.", two.cue, "Bend it less."]
    assert judge(check(), Reading(40.0, 2.0, 1.0, "deg")).cue == check().cue


def test_a_single_limit_is_judged_on_its_own_side_only():
    assert verdict(300, 5, low=80.0, high=None) == "within"
    assert verdict(50, 5, low=80.0, high=None, tolerance=10) == "outside"


def test_margin_is_the_distance_to_the_nearer_limit():
    finding = judge(check(), Reading(100.0, 2.0, 1.0, "deg"))
    assert (finding.low, finding.high, finding.margin) == (70.0, 110.0, 10.0)
    assert judge(check(), Reading(120.0, 2.0, 1.0, "deg")).margin == -10.0


def test_too_coarse_a_reading_says_how_coarse():
    finding = judge(check(), Reading(90.0, 25.0, 1.0, "deg"))
    assert finding.margin is None
    assert finding.reason == Message(ReasonCode.TOO_COARSE, {"sd": 25.0, "unit": "deg"})


def test_a_missing_reading_keeps_its_reason():
    hidden = Message(ReasonCode.ARM_HIDDEN)
    finding = judge(check(), Reading(None, None, None, "deg", hidden))
    assert finding.verdict == "not-measurable"
    assert finding.reason == hidden


@given(value=st.floats(-50, 250), sd=st.floats(0.1, 19))
def test_more_uncertainty_never_makes_a_verdict_harsher(value, sd):
    harshness = {"within": 0, "borderline": 1, "outside": 2, "not-measurable": -1}
    assert harshness[verdict(value, 1.05 * sd)] <= harshness[verdict(value, sd)]


def leaning(time_s, value, sd):
    """The reading of a lean of at most 20 degrees either way over a repetition of these times."""
    either_way = Check(
        id="lean", measure="trunk_lean_side", statistic="worst", low=-10.0, high=10.0,
        tolerance=10.0, importance=Importance.POSITION, cue="Stay tall.", praise="You stayed tall.",
        source="common practice, no source",
    )  # fmt: skip
    still = np.zeros(len(time_s), dtype=bool)
    columns = {"trunk_lean_side_deg": Series(value, sd)}
    table = MeasureTable(time_s, columns, View(MeasuredView.FRONT, 0.0, 5.0), {}, still, still)
    reading = read_check(table, Rep(1, "rep", "right", False, 0.0, 1.0, 1.5, 2.0), either_way)
    return reading, judge(either_way, reading).verdict


def test_the_moment_that_may_pass_a_limit_counts_though_a_surer_one_is_far_from_it():
    time_s = np.arange(61) / 30.0
    value, sd = (np.where(time_s > 1.0, *pair) for pair in ((18.0, 0.0), (8.0, 2.0)))
    reading, found = leaning(time_s, value, sd)
    assert (reading.value, reading.sd, found) == (18.0, 8.0, "within")
    assert reading.at_s > 1.0


def test_a_moment_too_coarse_to_be_judged_by_hides_no_surer_one():
    time_s = np.arange(61) / 30.0
    value, sd = (np.where(time_s > 1.0, *pair) for pair in ((30.0, 28.0), (25.0, 2.0)))
    reading, found = leaning(time_s, value, sd)
    assert (reading.value, reading.sd, found) == (28.0, 2.0, "outside")


@pytest.mark.parametrize(("measure", "unit"), [("hold", "s"), ("duration", "s"), ("range", "")])
def test_what_was_not_seen_of_a_repetition_still_has_its_unit(measure, unit):
    of_whole = check().model_copy(update={"measure": measure, "statistic": "value"})
    nothing = MeasureTable(
        np.arange(3.0), {}, View(MeasuredView.FRONT, 0.0, 5.0), {}, *2 * [np.zeros(3, bool)]
    )
    rep = Rep(1, "hold", "right", True, 0.0, 1.0, 1.5, 2.0)
    reading = read_check(nothing, rep, of_whole)
    assert (reading.value, reading.unit) == (None, unit)
