"""The decision rule: guarded acceptance, guarded rejection (terms of JCGM 106:2012)."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formcheck.catalogue.codes import Importance, Message, ReasonCode
from formcheck.catalogue.views import MeasuredView
from formcheck.checks.reading_errors import NORMAL
from formcheck.checks.statistics import Reading, read_check
from formcheck.checks.verdict import judge
from formcheck.exercises.schema import DEFAULT_DECISION, Check
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


def found(value, sd, decision=DEFAULT_DECISION, **limits):
    return judge(check(**limits), Reading(value, sd, 1.0, "deg"), decision, NORMAL)


def verdict(value, sd, **limits):
    return found(value, sd, **limits).verdict


@pytest.mark.parametrize(
    ("value", "sd", "expected"),
    [
        (90, 5, "within"),
        (103.5, 5, "within"),  # 6.5 inside, 1.28 x 5 = 6.4 needed
        (104.0, 5, "borderline"),
        (110, 5, "borderline"),  # on the limit
        (118.0, 5, "borderline"),  # 8.0 over, 1.645 x 5 = 8.2 allowed
        (118.5, 5, "outside"),
        (61.0, 5, "outside"),
        (63.0, 5, "borderline"),
        (90, 12, "within"),
        (90, 12.5, "not-measurable"),  # outside with 11 % although in the very middle
        (160, 21, "outside"),  # far enough off to be sure all the same
        (90, 900, "not-measurable"),  # beyond either limit with 98 %, nobody knows which
    ],
)
def test_within_and_outside_only_where_the_uncertainty_leaves_no_room_for_the_other(
    value, sd, expected
):
    assert verdict(value, sd) == expected


def test_each_verdict_has_its_probability():
    assert found(90, 5).probability_outside == pytest.approx(6.3e-5, rel=0.05)
    assert found(110, 5).probability_outside == pytest.approx(0.5, abs=1e-3)
    assert found(125, 5).probability_outside == pytest.approx(0.9987, abs=1e-3)
    assert found(90, 25).probability_outside is None


def test_the_thresholds_are_settings_of_the_exercise():
    lenient = DEFAULT_DECISION.model_copy(update={"within_to": 0.3, "outside_from": 0.8})
    assert found(107, 5).verdict == "borderline"
    assert found(107, 5, lenient).verdict == "within"
    assert found(115, 5).verdict == "borderline"
    assert found(115, 5, lenient).verdict == "outside"


def test_borderline_is_rather_fine_or_rather_not():
    assert (found(108, 5).probably_fine, found(108, 5).perhaps_not) == (True, False)
    assert (found(112, 5).probably_fine, found(112, 5).perhaps_not) == (False, True)
    assert not found(90, 5).probably_fine


def test_a_single_limit_far_away_is_kept_surely_though_the_reading_is_coarse():
    assert verdict(88, 20, low=80.0, high=None, tolerance=5) == "not-measurable"
    assert verdict(140, 20, low=80.0, high=None, tolerance=5) == "within"


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
def test_more_uncertainty_makes_no_verdict_surer(value, sd):
    before, after = verdict(value, sd), verdict(value, 1.05 * sd)
    assert after in (before, "borderline", "not-measurable")


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
    return reading, judge(either_way, reading, errors=NORMAL).verdict


def test_the_moment_that_may_pass_a_limit_counts_though_a_surer_one_is_far_from_it():
    time_s = np.arange(61) / 30.0
    value, sd = (np.where(time_s > 1.0, *pair) for pair in ((18.0, 0.0), (8.0, 2.0)))
    reading, verdict_ = leaning(time_s, value, sd)
    assert (reading.value, reading.sd, verdict_) == (18.0, 8.0, "borderline")
    assert reading.at_s > 1.0


def test_a_moment_too_coarse_to_be_judged_by_hides_no_surer_one():
    time_s = np.arange(61) / 30.0
    value, sd = (np.where(time_s > 1.0, *pair) for pair in ((30.0, 28.0), (25.0, 2.0)))
    reading, verdict_ = leaning(time_s, value, sd)
    assert (reading.value, reading.sd, verdict_) == (28.0, 2.0, "outside")


@pytest.mark.parametrize(("measure", "unit"), [("hold", "s"), ("duration", "s"), ("range", "")])
def test_what_was_not_seen_of_a_repetition_still_has_its_unit(measure, unit):
    of_whole = check().model_copy(update={"measure": measure, "statistic": "value"})
    nothing = MeasureTable(
        np.arange(3.0), {}, View(MeasuredView.FRONT, 0.0, 5.0), {}, *2 * [np.zeros(3, bool)]
    )
    rep = Rep(1, "hold", "right", True, 0.0, 1.0, 1.5, 2.0)
    reading = read_check(nothing, rep, of_whole)
    assert (reading.value, reading.unit) == (None, unit)
