"""Done against prescribed, in eight weeks whose truth is known."""

from datetime import timedelta

import pytest

from formcheck.records.adherence import adherence_of
from formcheck.records.signature import sign_phase
from tests.records.weeks import START, day_of, filmed, prescribed, ticked

UNTIL = day_of(3, 6)


@pytest.fixture
def plan(store, tmp_path):
    prescribed(store, tmp_path)
    return store


def item(store, exercise, until=UNTIL):
    return next(
        one for one in adherence_of(store, "heron", until).items if one.exercise == exercise
    )


def test_without_a_programme_there_is_nothing_to_hold_against(store):
    assert adherence_of(store, "heron", UNTIL) is None


def test_filmed_and_ticked_off_days_are_told_apart_and_both_count(plan):
    filmed(plan, day_of(1, 0), exercise="belly-press", held_s=5.0)
    ticked(plan, day_of(1, 2))
    first, *_ = item(plan, "belly-press").weeks
    assert (first.days_asked, first.days_done, first.days_filmed, first.days_ticked) == (3, 2, 1, 1)
    assert (first.done.filmed_sets, first.done.ticked_sets) == (1, 2)
    assert (first.done.count, first.done.held_s) == (9, 45.0)
    assert (first.sets_asked, first.count_asked, first.held_asked_s) == (6, 18, 90.0)
    assert first.missed == 1


def test_sets_filmed_again_to_tell_the_error_are_no_part_of_the_dose(plan):
    filmed(plan, day_of(1, 0), exercise="belly-press")
    for _ in range(3):
        filmed(plan, day_of(1, 0), exercise="belly-press", filmed_again=True)
        filmed(plan, day_of(1, 2), exercise="belly-press", filmed_again=True)
    first, *_ = item(plan, "belly-press").weeks
    assert (first.days_filmed, first.done.filmed_sets) == (2, 2)


def test_a_day_made_up_the_week_after_is_late_and_not_missed(plan):
    for weekday in (0, 2):
        ticked(plan, day_of(1, weekday))
    for weekday in (0, 1, 2, 3):
        ticked(plan, day_of(2, weekday))
    first, second, third = item(plan, "belly-press").weeks
    assert (first.missed, second.late, second.missed) == (0, 1, 0)
    assert third.missed == 3


def test_what_may_still_be_done_is_not_missed(plan):
    ticked(plan, day_of(1, 0))
    wednesday = item(plan, "belly-press", until=day_of(1, 2)).weeks[0]
    assert (wednesday.missed, wednesday.open) == (0, 2)
    saturday = item(plan, "belly-press", until=day_of(1, 5)).weeks[0]
    assert (saturday.missed, saturday.open) == (1, 1)


def test_a_day_that_is_not_over_may_still_be_done_unless_it_was(plan):
    ticked(plan, day_of(1, 0))
    ticked(plan, day_of(1, 2))

    def sunday(*, is_over):
        items = adherence_of(plan, "heron", day_of(1, 6), is_over=is_over).items
        press = next(one for one in items if one.exercise == "belly-press").weeks[0]
        return press.missed, press.open

    assert (sunday(is_over=True), sunday(is_over=False)) == ((1, 0), (0, 1))
    plan.write("UPDATE ticked SET day = ? WHERE day = ?", *(f"{day_of(1, d)}" for d in (6, 2)))
    assert sunday(is_over=False) == (1, 0)


def test_a_phase_that_has_ended_leaves_nothing_open(plan):
    signed = {"by": "coach", "note": "Ready.", "although_not_met": True}
    sign_phase(plan, "heron", "loaded", from_day=day_of(1, 4), **signed)
    (press,) = item(plan, "belly-press", until=day_of(1, 5)).weeks
    assert (press.days_asked, press.missed, press.open) == (2, 2, 0)


def test_an_exercise_that_waits_for_sessions_is_asked_for_when_they_are_done(plan):
    ticked(plan, day_of(1, 0))
    names = {one.exercise for one in adherence_of(plan, "heron", day_of(1, 6)).items}
    assert names == {"belly-press"}
    ticked(plan, day_of(1, 2))
    raising = item(plan, "scaption-raise")
    assert raising.weeks[0].days_asked == 1  # four days of the week were left of two a week
    assert raising.weeks[1].days_asked == 2


def test_what_was_done_before_it_was_asked_for_does_not_count_for_it(plan):
    filmed(plan, day_of(1, 0))  # a raise on the first day
    ticked(plan, day_of(1, 1))
    raising = item(plan, "scaption-raise")
    assert raising.weeks[0].days_done == 0


def test_the_other_side_does_not_count(plan):
    filmed(plan, day_of(1, 0), exercise="belly-press", side="left")
    first, *_ = item(plan, "belly-press").weeks
    assert first.days_done == 0
    assert adherence_of(plan, "heron", UNTIL).extra == (("belly-press", day_of(1, 0)),)


def test_from_a_signature_on_the_next_phase_is_asked_for(plan):
    signed = {"by": "coach", "note": "Ready.", "although_not_met": True}
    sign_phase(plan, "heron", "loaded", from_day=day_of(3, 0), **signed)
    filmed(plan, day_of(3, 1))
    until = day_of(4, 6)
    phases = {(one.exercise, one.phase): one for one in adherence_of(plan, "heron", until).items}
    assert len(phases["belly-press", "positions"].weeks) == 2
    loaded = phases["scaption-raise", "loaded"].weeks
    assert [(week.days_asked, week.days_done) for week in loaded] == [(3, 1), (3, 0)]


def test_the_calendar_has_every_day_on_which_something_was_done(plan):
    ticked(plan, day_of(1, 0))
    filmed(plan, day_of(1, 0))
    filmed(plan, day_of(2, 4))
    days = adherence_of(plan, "heron", UNTIL).days
    assert list(days) == [day_of(1, 0), day_of(2, 4)]
    assert (days[day_of(1, 0)].filmed_sets, days[day_of(1, 0)].ticked_sets) == (1, 2)


def test_nothing_after_the_day_asked_about_is_known_yet(plan):
    ticked(plan, UNTIL + timedelta(days=1))
    assert dict(adherence_of(plan, "heron", UNTIL).days) == {}
    assert adherence_of(plan, "heron", START - timedelta(days=1)) is None


def test_what_was_done_before_it_was_due_is_not_counted_and_not_hidden(plan):
    filmed(plan, day_of(1, 0))  # comes after two sessions
    filmed(plan, day_of(1, 1), exercise="belly-press", held_s=5.0)
    filmed(plan, day_of(1, 3))
    found = adherence_of(plan, "heron", UNTIL)
    raises = next(one for one in found.items if one.exercise == "scaption-raise")
    assert sum(week.days_done for week in raises.weeks) == 1
    assert found.extra == (("scaption-raise", day_of(1, 0)),)
