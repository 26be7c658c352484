"""A trunk that is level where it should be upright, or the other way round, is told."""

from dataclasses import replace

import numpy as np
import pytest

from formcheck.exercises.library import library_names, load_exercise
from formcheck.measures.measure import measure_track
from formcheck.measures.table import Series
from formcheck.recognise.position import another_position, surely_upright, upright_share
from tests.synthetic import make_track


def table(upright: float):
    """Somebody upright for this share of the clip, and level for the rest."""
    stands = measure_track(make_track(duration_s=10))
    lean = stands.series("trunk_lean_forward")
    level = stands.time_s > upright * stands.time_s[-1]
    changed = Series(np.where(level, np.nan, lean.value), np.where(level, np.nan, lean.sd))
    return replace(stands, columns={**stands.columns, "trunk_lean_forward_deg": changed})


@pytest.mark.slow
@pytest.mark.parametrize(
    ("exercise", "upright", "told"),
    [
        ("elbow-curl", 1.0, None),
        ("elbow-curl", 0.5, None),
        ("elbow-curl", 0.0, "level"),
        ("push-up-plus", 0.0, None),
        ("push-up-plus", 1.0, "upright"),
        ("push-up-plus-wall", 0.0, "level"),
        ("bent-elbow-circle", 0.0, None),
    ],
)
def test_another_position_than_the_exercises_is_told(exercise, upright, told):
    found = another_position(load_exercise(exercise), table(upright))
    assert [note.form for note in found] == ([told] if told else [])
    assert not any(note.fatal for note in found)


@pytest.mark.slow
@pytest.mark.parametrize("name", library_names())
def test_nothing_is_told_of_a_body_that_was_never_seen(name):
    unseen = table(1.0)
    gone = {key: Series(np.full_like(s.value, np.nan), s.sd) for key, s in unseen.columns.items()}
    nobody = replace(unseen, columns=gone)
    assert upright_share(nobody) is None
    assert another_position(load_exercise(name), nobody) == ()


def test_who_stands_with_the_feet_in_view_is_surely_upright():
    stands = table(1.0)
    assert surely_upright(stands)
    line = stands.series("body_line")
    no_feet = Series(np.full_like(line.value, np.nan), line.sd)
    assert not surely_upright(replace(stands, columns={**stands.columns, "body_line_deg": no_feet}))
    assert not surely_upright(table(0.5))
