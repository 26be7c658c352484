"""The decision rule: simple acceptance, guarded rejection (terms of JCGM 106:2012)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formcheck.checks.statistics import Reading
from formcheck.checks.verdict import judge
from formcheck.exercises.schema import Check


def check(low=85.0, high=95.0, tolerance=15.0):
    return Check(
        id="elbow",
        measure="elbow_flexion",
        statistic="mean",
        low=low,
        high=high,
        tolerance=tolerance,
        importance="position",
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


def test_a_single_limit_is_judged_on_its_own_side_only():
    assert verdict(300, 5, low=80.0, high=None) == "within"
    assert verdict(50, 5, low=80.0, high=None, tolerance=10) == "outside"


def test_margin_is_the_distance_to_the_nearer_limit():
    finding = judge(check(), Reading(100.0, 2.0, 1.0, "deg"))
    assert (finding.low, finding.high, finding.margin) == (70.0, 110.0, 10.0)
    assert judge(check(), Reading(120.0, 2.0, 1.0, "deg")).margin == -10.0


def test_too_coarse_a_reading_says_so_in_words():
    finding = judge(check(), Reading(90.0, 25.0, 1.0, "deg"))
    assert finding.margin is None
    assert "±25 degrees" in finding.reason


def test_a_missing_reading_keeps_its_reason():
    finding = judge(check(), Reading(None, None, None, "deg", "the arm is hidden"))
    assert finding.verdict == "not-measurable"
    assert finding.reason == "the arm is hidden"


@given(value=st.floats(-50, 250), sd=st.floats(0.1, 19))
def test_more_uncertainty_never_makes_a_verdict_harsher(value, sd):
    harshness = {"within": 0, "borderline": 1, "outside": 2, "not-measurable": -1}
    assert harshness[verdict(value, 1.05 * sd)] <= harshness[verdict(value, sd)]
