"""What follows the return of a repetition: the extra push of a push-up."""

import numpy as np
import pytest

from formcheck.catalogue.views import MeasuredView
from formcheck.exercises.library import load_exercise
from formcheck.measures.table import MeasureTable, Series, View
from formcheck.movements.repetitions import FOLLOW_CM
from formcheck.movements.segment import find_reps
from tests.synthetic import cycles

STARTS_S = [1.0, 6.0, 11.0]
PUSH_S = 3.2  # after each start, when the arms are straight again


def push_ups(push_cm, *, duration_s=17.0, shift_s=0.0, rate_hz=30.0, sunk_cm=1.5):
    """Push-ups whose shoulder sinks at the bottom, and travels ``push_cm`` forward after each."""
    time_s = np.arange(round(duration_s * rate_hz)) / rate_hz
    at = time_s - shift_s
    elbow = cycles(STARTS_S, 10, 100, up_s=1.2, top_s=0.4, down_s=1.2)(at)
    sunk = cycles(STARTS_S, 0, -sunk_cm, up_s=1.2, top_s=0.4, down_s=1.2)(at)
    pushed = cycles([s + PUSH_S for s in STARTS_S], 0, push_cm, up_s=0.6, top_s=0.4, down_s=0.6)(at)
    sd = np.ones(len(time_s))
    columns = {}
    for side in ("left", "right"):
        columns[f"elbow_flexion_{side}_deg"] = Series(elbow, 7 * sd)
        columns[f"protraction_{side}_cm"] = Series(sunk + pushed, 2.5 * sd)
    still = np.zeros(len(time_s), dtype=bool)
    view = View(MeasuredView.RIGHT, 90.0, 5.0)
    table = MeasureTable(time_s, columns, view, {}, still, still)
    return find_reps(table, load_exercise("push-up-plus"), ("left", "right"))


def pushes_cm(reps):
    return [rep.measures["follow_range"].value for rep in reps]


def test_the_extra_push_is_read_with_what_its_mark_does_not_show():
    reps = push_ups(4.0)
    assert pushes_cm(reps) == pytest.approx([np.interp(4.0, *FOLLOW_CM[:2])] * 3, abs=0.4)
    assert [rep.end_s for rep in reps] == pytest.approx([s + 4.8 for s in STARTS_S], abs=0.3)


def test_a_push_up_without_it_reads_none_though_the_shoulder_moves_on_the_way():
    assert pushes_cm(push_ups(0.0)) == [0.0, 0.0, 0.0]


def test_a_clip_that_ends_with_the_return_does_not_know_of_the_last():
    reps = push_ups(0.0, duration_s=14.2)
    assert [("follow_range" in rep.measures) for rep in reps] == [True, True, False]


def test_another_time_and_frame_rate_change_nothing():
    usual = pushes_cm(push_ups(4.0))
    assert pushes_cm(push_ups(4.0, duration_s=20, shift_s=2.0)) == pytest.approx(usual, abs=0.2)
    assert pushes_cm(push_ups(4.0, rate_hz=60.0)) == pytest.approx(usual, abs=0.3)
