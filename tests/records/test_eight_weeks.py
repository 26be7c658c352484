"""Eight weeks of an invented client whose truth is known: every answer is right."""

import pytest

from formcheck.records import reliability
from formcheck.records.adherence import adherence_of
from formcheck.records.answers import clear
from formcheck.records.progress import Change, progress_of
from formcheck.records.readiness import RuleName, State, readiness_of
from formcheck.records.signature import sign_phase
from tests.records.weeks import day_of, filmed, noisy, prescribed, said, ticked

SEM_DEG = 3.0
PRESSES = {1: 3, 2: 3, 3: 2, 4: 4}
"""Days of the belly press in each week of the first phase, three a week asked for: one missed in the
third week and made up in the fourth."""
RAISE_DEG = {2: 70, 3: 78, 4: 86, 5: 82, 6: 84, 7: 90, 8: 94}
"""How high the arm truly went, by week."""


@pytest.fixture
def weeks(store, tmp_path, monkeypatch):
    """Steps up on the Monday of week 5, hurts in week 6, and films from elsewhere from week 7 on."""
    known = {("shoulder_elevation", "front"): SEM_DEG}
    monkeypatch.setattr(reliability, "study", lambda: known)
    prescribed(store, tmp_path)
    for week, days in PRESSES.items():
        for k in range(days):
            day = day_of(week, (0, 2, 4, 5)[k])
            if k == 0:
                filmed(store, day, exercise="belly-press", held_s=5.0)
            else:
                ticked(store, day)
            said(store, day)
    values = iter(noisy(7, SEM_DEG, [RAISE_DEG[w] for w in RAISE_DEG for _ in range(2)]))
    for week in RAISE_DEG:
        for weekday in (1, 3):
            elsewhere = {"view": "right-oblique", "yaw_deg": 45.0} if week >= 7 else {}
            load = "1 kg" if week >= 5 else ""
            filmed(store, day_of(week, weekday), value=next(values), load=load, **elsewhere)
            said(store, day_of(week, weekday), during=7 if (week, weekday) == (6, 1) else 2)
    return store


def rules(store, day):
    return {rule.name: rule.state for rule in readiness_of(store, "heron", day).gate.rules}


def test_adherence_is_what_was_done(weeks):
    clear(weeks, "heron", through_day=day_of(6, 1), by="coach", note="Seen by the doctor.")
    signed = {"by": "coach", "note": "Steady.", "although_not_met": True}
    sign_phase(weeks, "heron", "loaded", from_day=day_of(5, 0), **signed)
    done = adherence_of(weeks, "heron", day_of(8, 6))
    items = {(one.exercise, one.phase): one.weeks for one in done.items}
    presses = items["belly-press", "positions"]
    assert [week.days_done for week in presses] == [3, 3, 2, 4]
    assert [week.missed for week in presses] == [0, 0, 0, 0]
    assert [week.late for week in presses] == [0, 0, 0, 1]
    assert [week.days_filmed for week in presses] == [1, 1, 1, 1]
    loaded = items["scaption-raise", "loaded"]
    assert [(week.days_asked, week.days_done, week.missed) for week in loaded] == [(3, 2, 1)] * 4


def test_the_step_up_is_proposed_from_the_day_on_which_all_is_met(weeks):
    proposed = [
        day
        for day in (day_of(week, weekday) for week in (1, 2, 3) for weekday in range(7))
        if readiness_of(weeks, "heron", day).gate.proposed
    ]
    assert proposed[0] == day_of(3, 0)  # two whole weeks; the sixth day was in the second
    assert rules(weeks, day_of(2, 6))[RuleName.WEEKS] == State.NOT_MET
    assert rules(weeks, day_of(2, 6))[RuleName.DAYS] == State.MET


def test_the_pain_blocks_until_the_coach_has_looked_into_it(weeks):
    assert rules(weeks, day_of(6, 0))[RuleName.NOTHING_OPEN] == State.MET
    assert rules(weeks, day_of(6, 1))[RuleName.NOTHING_OPEN] == State.NOT_MET
    assert [a.day for a in readiness_of(weeks, "heron", day_of(8, 6)).open] == [day_of(6, 1)]
    clear(weeks, "heron", through_day=day_of(6, 1), by="coach", note="Slept on it; fine.")
    assert rules(weeks, day_of(8, 6))[RuleName.NOTHING_OPEN] == State.MET


def test_the_true_trend_is_told_and_nothing_across_load_or_camera(weeks):
    by_part = {
        (series.context.load, series.context.view): series
        for series in progress_of(weeks, "heron", exercise="scaption-raise")
    }
    unloaded, loaded, elsewhere = (
        by_part[key] for key in (("", "front"), ("1 kg", "front"), ("1 kg", "right-oblique"))
    )
    assert [len(one.points) for one in (unloaded, loaded, elsewhere)] == [6, 4, 4]
    # Without a load the truth rose by 10.7 degrees between the means, more than twice the smallest
    # change that can be told; with it by 2, about a third of it.
    assert (unloaded.sdc, loaded.sdc) == (
        pytest.approx(4.80, abs=0.01),
        pytest.approx(5.88, abs=0.01),
    )
    assert unloaded.told == Change.ROSE
    assert loaded.told == Change.NOT_TOLD
    assert loaded.differs == ("load",)
    assert elsewhere.differs == ("view",)
    assert elsewhere.told == Change.NOT_TOLD  # a rise of 4, where 5.9 is the smallest to tell
