"""The moment of a still: where the finding shows, and how far it may be moved for the arm to show."""

from dataclasses import replace

import numpy as np

from formcheck.catalogue.codes import Verdict
from formcheck.movements.types import Rep
from formcheck.sheets.pages.moments import moment_about
from tests.sheets.findings import finding

REP = Rep(1, "rep", "right", False, 2.0, 4.0, 5.0, 7.0)


def high(table, peak_s, width_s=1.0):
    """The table with an arm that is 90 degrees high but for a stretch of 130."""
    name = "shoulder_elevation_right_deg"
    series = table.columns[name]
    value = np.where(np.abs(table.time_s - peak_s) < width_s, 130.0, 90.0)
    return replace(table, columns={**table.columns, name: replace(series, value=value)})


def too_high(at_s):
    return replace(
        finding(), value=130.0, statistic="max", phase="whole", margin=-30.0,
        verdict=Verdict.OUTSIDE, at_s=at_s, side="right",
    )  # fmt: skip


def test_a_still_may_move_as_long_as_the_finding_shows_nearly_as_well(exercise, table):
    moment = moment_about(REP, too_high(4.5), exercise, high(table, 4.5))
    first, last = moment.between
    assert first <= moment.time_s <= last
    assert 3.4 <= first <= 3.7
    assert 5.3 <= last <= 5.6


def test_it_never_moves_out_of_its_repetition(exercise, table):
    moment = moment_about(REP, too_high(4.5), exercise, high(table, 4.5, width_s=20.0))
    assert moment.between[0] >= REP.start_s - 0.1
    assert moment.between[1] <= REP.end_s + 0.1


def test_what_is_drawn_as_asked_for_is_the_target_that_the_words_tell(exercise, table):
    check = next(one for one in exercise.checks if one.tolerance > 0 and one.high is not None)
    low, high_end = check.limits
    told = replace(too_high(4.5), id=check.id, low=low, high=high_end)
    about = moment_about(REP, told, exercise, high(table, 4.5)).about
    assert (about.low, about.high) == (check.low, check.high) != (low, high_end)
