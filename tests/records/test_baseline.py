"""A set signed as good is what later ones are read against, where they may be compared."""

import math

import pytest

from formcheck.errors import RecordsError
from formcheck.records import reliability
from formcheck.records.baseline import against_baseline, baselines_of, sign_baseline
from formcheck.records.reliability import Basis, Sem, StudiedChange, change_sd
from formcheck.records.sets import record_result, sets_of
from tests.records.made import DAY, NOT_COMPARABLE, made_check, made_limit, made_rep, made_result
from tests.records.weeks import day_of, filmed

SEM_DEG = 2.0


@pytest.fixture(autouse=True)
def study(monkeypatch):
    known = {("shoulder_elevation", "front"): SEM_DEG}
    monkeypatch.setattr(reliability, "study", lambda: known)
    usual = {"shoulder_elevation": StudiedChange(stated=3.0, factor=1.0)}
    monkeypatch.setattr(reliability, "changes", lambda: usual)


def signed_then(store, value, **more):
    """A signed set of 80 degrees, and a later one beside it."""
    filmed(store, day_of(1, 0), value=80.0)
    (first,) = sets_of(store, "heron")
    sign_baseline(store, "heron", first.id, by="coach", note="As it should be.")
    filmed(store, day_of(1, 2), value=value, **more)
    *_, last = sets_of(store, "heron")
    ((row,),) = (against_baseline(store, "heron")[last.id],)
    return row


@pytest.mark.parametrize(
    ("value", "told"), [(84.0, False), (76.0, False), (86.0, True), (74.0, True)]
)
def test_a_change_from_the_signed_set_is_told_beyond_its_own_error(store, value, told):
    row = signed_then(store, value)
    assert row.change == pytest.approx(value - 80.0)
    assert row.uncertainty == pytest.approx(math.sqrt(2) * SEM_DEG)
    assert (row.since, row.told, row.differs) == (day_of(1, 0), told, ())


@pytest.mark.parametrize(("changed", "differs"), NOT_COMPARABLE)
def test_where_it_may_not_be_compared_the_reading_stays_absolute_and_says_why(
    store, changed, differs
):
    row = signed_then(store, 120.0, **changed)
    assert (row.change, row.uncertainty, row.told) == (None, None, False)
    assert row.differs == differs
    assert (row.value, row.absolute_sd) == (120.0, 3.0)


def test_where_nothing_was_studied_the_stated_uncertainty_stands_in(store, monkeypatch):
    monkeypatch.setattr(reliability, "study", dict)
    row = signed_then(store, 88.0)
    assert (row.change, row.told) == (8.0, False)
    assert row.uncertainty == pytest.approx(math.sqrt(2) * 3.0)


@pytest.mark.parametrize(("place", "known"), [({}, True), ({"elevation_deg": None}, False)])
def test_a_place_that_is_known_in_part_is_said_to_be_so(store, place, known):
    row = signed_then(store, 84.0, **place)
    assert (row.place_known, row.change) == (known, pytest.approx(4.0))


def test_the_latest_signed_set_before_counts(store):
    for k, value in enumerate((80.0, 90.0, 92.0)):
        filmed(store, day_of(1, k), value=value)
    first, second, third = sets_of(store, "heron")
    assert against_baseline(store, "heron") == {}
    sign_baseline(store, "heron", first.id, by="coach")
    sign_baseline(store, "heron", second.id, by="coach")
    rows = against_baseline(store, "heron")
    assert rows[second.id][0].change == pytest.approx(10.0)
    assert rows[third.id][0].change == pytest.approx(2.0)
    assert [one.set_id for one in baselines_of(store, "heron")] == [first.id, second.id]


def test_the_other_arm_is_not_read_against_it(store):
    filmed(store, day_of(1, 0))
    (first,) = sets_of(store, "heron")
    sign_baseline(store, "heron", first.id, by="coach")
    filmed(store, day_of(1, 2), side="left")
    assert against_baseline(store, "heron") == {}


@pytest.mark.parametrize(("number", "by"), [(99, "coach"), (1, " ")])
def test_only_a_set_of_theirs_is_signed_and_by_somebody(store, number, by):
    filmed(store, day_of(1, 0))
    with pytest.raises(RecordsError):
        sign_baseline(store, "heron", number, by=by)


SEM = Sem(2.0, Basis.STUDY)


def test_a_change_is_as_sure_as_filmings_repeat_while_both_readings_are_as_sure_as_usual():
    assert change_sd("shoulder_elevation", SEM, (3.0, 4.0)) == pytest.approx(2.0 * math.sqrt(2))


def test_a_reading_that_is_unusually_unsure_makes_the_change_no_surer_than_itself():
    assert change_sd("shoulder_elevation", SEM, (3.0, 9.0)) == 9.0


def test_a_measure_whose_changes_were_not_studied_is_no_surer_read_as_a_change():
    assert change_sd("trunk_turn", SEM, (4.0, 3.0)) == 4.0
    assert change_sd("trunk_turn", SEM, (1.0, None)) == pytest.approx(2.0 * math.sqrt(2))


def test_changes_that_erred_beyond_the_sem_are_stated_larger(monkeypatch):
    hike = {"hike": StudiedChange(stated=2.0, factor=1.5)}
    monkeypatch.setattr(reliability, "changes", lambda: hike)
    assert change_sd("hike", SEM, (2.0, 2.0)) == pytest.approx(3.0 * math.sqrt(2))


@pytest.mark.parametrize(
    ("more", "reason"),
    [
        ({"limits": [made_limit("passed")]}, "a limit of safety was passed"),
        ({"limits": [made_limit("perhaps-passed")]}, "a limit of safety was passed"),
        ({"reps": [made_rep(1, [made_check()], partial=True)]}, "no whole repetition"),
        (
            {"quality": {"usable": True, "problems": [{"code": "another-position"}]}},
            "something else than scaption-raise",
        ),
    ],
)
def test_a_set_that_can_be_no_example_is_not_signed(store, more, reason):
    record_result(store, "heron", made_result("bad", **more), day=DAY)
    (one,) = sets_of(store, "heron")
    with pytest.raises(RecordsError, match=reason):
        sign_baseline(store, "heron", one.id, by="coach")
    assert baselines_of(store, "heron") == []
