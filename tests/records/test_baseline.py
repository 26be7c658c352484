"""A set signed as good is what later ones are read against, where they may be compared."""

import math

import pytest

from formcheck.errors import RecordsError
from formcheck.records import reliability
from formcheck.records.baseline import against_baseline, baselines_of, sign_baseline
from formcheck.records.sets import sets_of
from tests.records.weeks import day_of, filmed

SEM_DEG = 2.0


@pytest.fixture(autouse=True)
def study(monkeypatch):
    known = {("shoulder_elevation", "front"): SEM_DEG}
    monkeypatch.setattr(reliability, "study", lambda: known)


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


@pytest.mark.parametrize(
    ("changed", "differs"),
    [
        ({"view": "left-oblique", "yaw_deg": 45.0}, ("view",)),
        ({"yaw_deg": 28.0}, ("place",)),
        ({"load": "1 kg"}, ("load",)),
        ({"model": "lite"}, ("model_sha256",)),
        ({"version": "2.0.0"}, ("formcheck",)),
    ],
)
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
