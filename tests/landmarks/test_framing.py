from dataclasses import replace

import numpy as np
import pytest

from formcheck.landmarks.framing import Framing, framing_problems, outside_picture, stretches
from formcheck.landmarks.track import LANDMARK_COUNT, Joint

HIPS = [Joint.LEFT_HIP, Joint.RIGHT_HIP]
SHOULDERS = [Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER]


def sight(outside=(), missing=(), bystanders=(), duration_s=10.0, span_px=300.0, sighted=None):
    """A clip at 10 Hz: ``outside`` lists (landmarks, from, to), the others (from, to).

    ``sighted`` is how many are seen all along, by default the subject and the bystanders.
    """
    time_s = np.arange(round(duration_s * 10) + 1) / 10
    between = lambda a, b: (time_s >= a) & (time_s <= b)  # noqa: E731
    out = np.zeros((len(time_s), LANDMARK_COUNT), dtype=bool)
    for landmarks, a, b in outside:
        out[np.ix_(between(a, b), landmarks)] = True
    tracked = ~np.any([between(*spell) for spell in missing] or [time_s < 0], axis=0)
    others = np.any([between(*spell) for spell in bystanders] or [time_s < 0], axis=0)
    seen = tracked.astype(int) + others if sighted is None else np.full(len(time_s), sighted)
    return Framing(time_s, tracked, np.zeros_like(tracked), out, others, seen, span_px)


@pytest.mark.parametrize(
    ("sighted", "code", "form"),
    [(0, "nobody-in-view", "ever"), (1, "not-followed", "one"), (3, "not-followed", "several")],
)
def test_nobody_somebody_who_cannot_be_followed_and_a_crowd_are_told_apart(sighted, code, form):
    (problem,) = framing_problems(sight(missing=[(0, 10)], sighted=sighted))
    assert (problem.code, problem.form, problem.fatal) == (code, form, True)


def test_where_the_subject_jumps_about_nobody_says_that_nobody_was_there():
    framing = sight(missing=[(3.0, 6.0)], sighted=1)
    (problem,) = framing_problems(replace(framing, unsteady=~framing.tracked))
    assert (problem.code, problem.start_s, problem.end_s) == ("unsteady", 3.0, 6.0)


def test_a_full_view_has_no_problem():
    assert framing_problems(sight()) == ()


def test_outside_begins_a_little_beyond_the_edge():
    x = np.array([-0.1, -0.01, 0.5, 1.01, 1.1, np.nan])
    image = np.stack([x, np.full(6, 0.5), np.full(6, 9.0)], axis=-1)
    np.testing.assert_array_equal(outside_picture(image), [True, False, False, False, True, False])


@pytest.mark.parametrize(
    ("landmarks", "code"),
    [
        (HIPS, "hips-out-of-view"),
        (SHOULDERS, "only-legs"),
        (SHOULDERS + HIPS, "shoulders-out-of-view"),
        ([Joint.LEFT_WRIST], "arms-out-of-view"),
    ],
)
def test_parts_out_of_view_are_told_with_their_time(landmarks, code):
    (problem,) = framing_problems(sight([(landmarks, 2.0, 6.0)]))
    assert (problem.code, problem.start_s, problem.end_s, problem.fatal) == (code, 2.0, 6.0, False)
    assert problem.form == "once"


def test_one_hip_outside_is_no_problem():
    assert framing_problems(sight([([Joint.LEFT_HIP], 0, 10)])) == ()


@pytest.mark.parametrize(
    ("landmarks", "code"),
    [(SHOULDERS, "only-legs"), (SHOULDERS + HIPS, "shoulders-out-of-view")],
)
def test_without_shoulders_nothing_can_be_judged(landmarks, code):
    problems = framing_problems(sight([(landmarks, 0, 9)]))
    assert [(p.code, p.fatal) for p in problems] == [(code, True)]


def test_a_hand_that_leaves_again_and_again_is_told_once():
    spells = [([Joint.RIGHT_WRIST], t, t + 1) for t in (1, 4, 7)]
    (problem,) = framing_problems(sight(spells))
    assert problem.params == {"arms": "right", "times": 3}
    assert (problem.start_s, problem.end_s) == (1.0, 8.0)


def test_both_arms_are_told_together():
    outside = [([Joint.RIGHT_WRIST], 1, 3), ([Joint.LEFT_WRIST], 2, 4)]
    (problem,) = framing_problems(sight(outside))
    assert problem.params == {"arms": "both", "times": 1}
    assert (problem.start_s, problem.end_s) == (1.0, 4.0)


def test_a_time_without_anybody_is_told():
    (problem,) = framing_problems(sight(missing=[(3, 6)]))
    assert (problem.code, problem.start_s, problem.end_s) == ("nobody-in-view", 3.0, 6.0)
    assert not problem.fatal


def test_a_time_behind_somebody_is_told_as_such():
    (problem,) = framing_problems(sight(missing=[(3, 5)], bystanders=[(1, 3.2)]))
    assert problem.code == "hidden"


def test_less_than_two_seconds_with_a_person_is_nobody():
    (problem,) = framing_problems(sight(missing=[(1.5, 10)]))
    assert (problem.code, problem.fatal) == ("nobody-in-view", True)


def test_a_short_clip_is_told_first():
    (problem,) = framing_problems(sight(duration_s=1.2, missing=[(0, 2)]))
    assert (problem.code, problem.fatal) == ("too-short", True)


@pytest.mark.parametrize(("span_px", "fatal"), [(60.0, False), (30.0, True)])
def test_a_person_far_away_is_told_to_come_closer(span_px, fatal):
    (problem,) = framing_problems(sight(span_px=span_px))
    assert (problem.code, problem.fatal) == ("too-small", fatal)


def test_stretches_bridge_short_breaks_and_leave_out_short_ones():
    time_s = np.arange(100) / 10
    flags = np.isin(np.arange(100), [*range(10, 20), *range(22, 30), 60, *range(80, 100)])
    assert stretches(time_s, flags, 0.5) == [(1.0, 2.9), (8.0, 9.9)]
