"""A change is told only beyond what error does, and only of what can be compared."""

import math
from dataclasses import replace
from datetime import timedelta

import pytest

from formcheck.records import reliability
from formcheck.records.progress import Change, between_sides, progress_of, series_of
from formcheck.records.reliability import (
    STUDY_FREEDOM,
    Basis,
    repeats_of,
    sem_for,
    smallest_detectable_change,
)
from formcheck.records.sets import RecordedSet
from formcheck.records.summary import checks_of
from tests.records.made import NOT_COMPARABLE, made_check, made_rep, made_result
from tests.records.weeks import START, filmed, noisy

SEM_DEG, STATED_DEG = 4.0, 3.0
"""By the study, and the standard uncertainty that the made results state."""


@pytest.fixture(autouse=True)
def study(monkeypatch):
    """A study that knows how far elevation repeats from the front, and nothing else."""
    known = {("shoulder_elevation", "front"): SEM_DEG}
    monkeypatch.setattr(reliability, "study", lambda: known)


def sessions(store, values, **more):
    """A set each on every other day."""
    for k, value in enumerate(values):
        filmed(store, START + timedelta(days=2 * k), value=value, **more)


def test_the_formula_for_single_sessions_is_the_usual_one():
    assert smallest_detectable_change(4.0, 1, 1) == pytest.approx(1.96 * math.sqrt(2) * 4.0)
    assert smallest_detectable_change(4.0, 3, 3) == pytest.approx(1.96 * 4.0 * math.sqrt(2 / 3))


SDC = smallest_detectable_change(SEM_DEG, 3, 3)


@pytest.mark.parametrize(
    ("times_sdc", "told"),
    [
        (0.0, Change.NOT_TOLD),
        (0.5, Change.NOT_TOLD),
        (0.99, Change.NOT_TOLD),
        (1.01, Change.ROSE),
        (2.0, Change.ROSE),
        (-0.5, Change.NOT_TOLD),
        (-2.0, Change.FELL),
    ],
)
def test_a_change_is_told_beyond_the_smallest_that_can_be(store, times_sdc, told):
    sessions(store, [80.0] * 3 + [80.0 + times_sdc * SDC] * 3)
    (series,) = progress_of(store, "heron")
    assert series.sdc == pytest.approx(SDC)
    assert series.change == pytest.approx(times_sdc * SDC)
    assert series.told == told


def test_of_many_histories_without_a_change_one_in_twenty_is_told():
    told = sum(told_with_noise(seed, 0.0) for seed in range(2000)) / 2000
    assert 0.035 < told < 0.065  # 0.05 +- 3 standard errors


def test_of_many_true_changes_of_twice_the_smallest_nearly_all_are_told():
    assert sum(told_with_noise(seed, 2.0) for seed in range(500)) / 500 > 0.94  # 0.975 - 5 sd


def test_of_many_true_changes_of_half_the_smallest_few_are_told():
    """By the definition of the smallest detectable change 16.5 % are, never more."""
    assert sum(told_with_noise(seed, 0.5) for seed in range(2000)) / 2000 < 0.19


def told_with_noise(seed, times_sdc):
    """Whether a change is told in six sessions with the error of a session each."""
    values = noisy(seed, SEM_DEG, [80.0] * 3 + [80.0 + times_sdc * SDC] * 3)
    (series,) = series_of([session(START + timedelta(days=k), v) for k, v in enumerate(values)])
    return series.told in (Change.ROSE, Change.FELL)


def session(day, value, sd=STATED_DEG):
    check = made_check(value=value, sd=sd, measure="shoulder_elevation")
    (check,) = checks_of(made_result(reps=[made_rep(1, [check])]))
    return RecordedSet(
        id=0,
        clip_sha256=str(day),
        result_sha256=str(day),
        exercise="scaption-raise",
        side="right",
        day=day,
        load="",
        view="front",
        yaw_deg=0.0,
        yaw_sd_deg=5.0,
        model_sha256="",
        formcheck="",
        settings="{}",
        sets=1,
        sets_met=1,
        count=1,
        held_s=0.0,
        limit_state="",
        folder="",
        checks=(check,),
    )


def test_sets_of_one_day_count_as_one_session(store):
    for day in (START, START + timedelta(days=2)):
        for value in (80.0, 84.0):
            filmed(store, day, value=value)
    (series,) = progress_of(store, "heron")
    assert [(point.value, point.sets) for point in series.points] == [(82.0, 2), (82.0, 2)]
    assert (series.k1, series.k2) == (1, 1)


def test_one_session_tells_nothing(store):
    sessions(store, [80.0])
    (series,) = progress_of(store, "heron")
    assert (series.told, series.change) == (Change.TOO_FEW, None)


@pytest.mark.parametrize(("changed", "differs"), NOT_COMPARABLE)
def test_what_cannot_be_compared_is_never_compared_and_says_why(store, changed, differs):
    sessions(store, [80.0] * 4)
    for k in range(4):
        filmed(store, START + timedelta(days=30 + 2 * k), value=120.0, **changed)
    before, after = progress_of(store, "heron")
    assert (before.told, after.told) == (Change.NOT_TOLD, Change.NOT_TOLD)
    assert (before.differs, after.differs) == ((), differs)
    assert [point.value for point in after.points] == [120.0] * 4


@pytest.mark.parametrize("unknown", [{"distance_m": None}, {"elevation_deg": None}])
def test_a_place_that_is_known_in_part_is_compared_by_that_part_and_says_so(store, unknown):
    sessions(store, [80.0] * 2)
    assert [series.place_known for series in progress_of(store, "heron")] == [True]
    filmed(store, START + timedelta(days=30), value=80.0, **unknown)
    assert [series.place_known for series in progress_of(store, "heron")] == [False]
    filmed(store, START + timedelta(days=32), value=80.0, yaw_deg=28.0, **unknown)
    assert len(progress_of(store, "heron")) == 2


def test_the_other_side_is_a_series_of_its_own_and_may_be_set_beside(store):
    sessions(store, [80.0] * 2)
    for series in progress_of(store, "heron"):
        assert series.subject.side == "right"
    assert between_sides(progress_of(store, "heron")) == []


def test_where_nothing_was_studied_the_stated_uncertainty_stands_in(store):
    sessions(store, [80.0, 90.0], view="left", yaw_deg=-90.0)
    (series,) = progress_of(store, "heron")
    assert (series.sem.value, series.sem.basis) == (STATED_DEG, Basis.STATED)
    assert series.sdc == pytest.approx(smallest_detectable_change(STATED_DEG, 1, 1))
    assert series.told == Change.ROSE


def test_a_measure_whose_error_nobody_knows_tells_no_change():
    results = [session(START + timedelta(days=k), 80.0 + 50 * k, sd=None) for k in range(4)]
    assert {one.told for one in series_of([replace(r, yaw_deg=90.0) for r in results])} == {
        Change.UNKNOWN
    }


def test_a_clients_own_sets_filmed_again_replace_the_study_as_they_come(store):
    own = 8.0
    for k in range(12):
        day = START + timedelta(days=2 * k)
        filmed(store, day, value=80.0 + own / math.sqrt(2))
        filmed(store, day, value=80.0 - own / math.sqrt(2), filmed_again=True)
        (series,) = progress_of(store, "heron")
        freedom = k + 1
        expected = (STUDY_FREEDOM * SEM_DEG**2 + freedom * own**2) / (STUDY_FREEDOM + freedom)
        assert series.sem.value == pytest.approx(math.sqrt(expected))
        assert series.sem.own_freedom == freedom


@pytest.mark.parametrize("side", ["left", "both"])
def test_from_the_side_the_far_arm_is_not_taken_to_repeat_as_the_near_one(monkeypatch, side):
    known = {("shoulder_elevation", "side"): SEM_DEG}
    monkeypatch.setattr(reliability, "study", lambda: known)
    near, with_far = (
        sem_for("shoulder_elevation", one, 90.0, 3 * SEM_DEG) for one in ("right", side)
    )
    assert (near.value, near.basis) == (pytest.approx(SEM_DEG), Basis.STUDY)
    assert (with_far.value, with_far.basis) == (pytest.approx(3 * SEM_DEG), Basis.STATED)


def test_own_sets_refine_the_stated_uncertainty_too():
    own = repeats_of([[80.0, 84.0]] * STUDY_FREEDOM)  # a variance of 8
    sem = sem_for("shoulder_elevation", "right", 90.0, STATED_DEG, own)
    assert sem.value == pytest.approx(math.sqrt((STATED_DEG**2 + 8.0) / 2))
    assert (sem.basis, sem.own_freedom) == (Basis.STATED, STUDY_FREEDOM)
    assert sem_for("shoulder_elevation", "right", None, None, own) is None
