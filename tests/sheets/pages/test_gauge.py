"""The gauge of a mark never says other than the verdict, and draws more as higher."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formcheck.catalogue.codes import Verdict
from formcheck.checks.decision import beyond, decide
from formcheck.exercises.schema import Check
from formcheck.sheets.pages.gauge import HEIGHT, WIDTH, Gauge, gauge_of
from tests.sheets.findings import finding

ENDS = [(80.0, 100.0), (None, 100.0), (80.0, None)]


def judged(value, sd, low, high, measure="shoulder_elevation"):
    limits = {k: v for k, v in (("low", low), ("high", high)) if v is not None}
    check = Check.model_validate(
        {
            "id": "a", "measure": "shoulder_elevation", "statistic": "mean", "tolerance": 0.0,
            "importance": "range", "cue": "Up.", "praise": "Up.",
            "source": "common practice, no source", **limits,
        }
    )  # fmt: skip
    outside = beyond(check, value, sd)
    return replace(
        finding(),
        measure=measure,
        value=value,
        uncertainty=sd,
        low=low,
        high=high,
        verdict=decide(outside, coarse=False),
        probability_outside=outside.probability,
    )


def rails(gauge: Gauge):
    return sorted(line.y0 for line in gauge.lines if line.ink in ("rail", "safety", "broken"))


def whisker(gauge: Gauge):
    return next((line.y0, line.y1) for line in gauge.lines if line.ink == "whisker")


@pytest.mark.parametrize(("low", "high"), ENDS)
@given(value=st.floats(0, 180), sd=st.floats(0.01, 12))
def test_inside_touching_and_beyond_are_what_the_verdict_says(low, high, value, sd):
    one = judged(value, sd, low, high)
    gauge = gauge_of(one)
    top, bottom = whisker(gauge)
    crossed = [y for y in rails(gauge) if top <= y <= bottom]
    y = gauge.dots[0].y
    assert top <= y <= bottom
    assert 0 <= y <= HEIGHT
    assert bool(crossed) == (one.verdict == Verdict.BORDERLINE)
    if one.verdict == Verdict.OUTSIDE:
        rail = rails(gauge)[0] if high is not None and value > high else rails(gauge)[-1]
        assert (y < rail) == (high is not None and value > high)


@pytest.mark.parametrize(("low", "high"), ENDS)
@given(values=st.lists(st.floats(0, 180), min_size=2, max_size=2), sd=st.floats(0.01, 12))
def test_more_is_never_drawn_lower(low, high, values, sd):
    less, more = (judged(value, sd, low, high) for value in sorted(values))
    if less.verdict == more.verdict:
        assert gauge_of(more).dots[0].y <= gauge_of(less).dots[0].y


def test_hips_that_sag_are_drawn_below_their_limit():
    gauge = gauge_of(judged(12.7, 1.8, None, 5.5, measure="hip_off_line"))
    assert gauge.dots[0].y > rails(gauge)[0]
    assert rails(gauge)[0] > HEIGHT / 2


def test_between_two_limits_the_place_is_the_measured_one():
    ys = [gauge_of(judged(value, 1.0, 80.0, 100.0)).dots[0].y for value in (87.0, 90.0, 93.0)]
    assert ys[0] - ys[1] == pytest.approx(ys[1] - ys[2], abs=0.11)
    assert ys[1] == HEIGHT / 2


def test_a_limit_of_safety_has_a_rail_of_its_own_kind():
    passed = replace(judged(128.0, 9.0, None, 90.0), safety_limit=True)
    assert [line.ink for line in gauge_of(passed).lines] == ["safety", "whisker"]


def test_what_may_have_passed_a_limit_of_safety_is_not_drawn_as_probably_fine():
    near = judged(88.0, 4.0, None, 90.0)
    assert near.probably_fine
    assert [dot.ink for dot in gauge_of(near).dots] == ["open"]
    assert [dot.ink for dot in gauge_of(replace(near, safety_limit=True)).dots] == [
        "open",
        "centre",
    ]


def test_what_could_not_be_told_has_no_dot():
    unknown = replace(finding(), value=None, uncertainty=None, verdict=Verdict.NOT_MEASURABLE)
    gauge = gauge_of(unknown)
    assert gauge.dots == ()
    assert all(0 <= line.x0 <= line.x1 <= WIDTH for line in gauge.lines)
