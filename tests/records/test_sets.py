"""A set counts once, however often and under whatever name it is recorded."""

import pytest

from formcheck.errors import RecordsError
from formcheck.records.clients import add_client
from formcheck.records.notes import Note, add_note, notes_of, overrule, overrules_of
from formcheck.records.sets import Recorded, record_result, result_of, sets_of
from tests.records.made import DAY, made_check, made_rep, made_result


def test_a_result_is_kept_as_it_is(store):
    result = made_result(values=(88.0, 90.0, 95.0))
    assert record_result(store, "heron", result, day=DAY) == Recorded.ADDED
    (one,) = sets_of(store, "heron")
    assert (one.exercise, one.side, one.day, one.count) == ("scaption-raise", "right", DAY, 3)
    assert result_of(store, one.id) == result
    (check,) = one.checks
    assert check.value == pytest.approx(91.0)
    assert check.spread == pytest.approx(3.6056, abs=1e-4)
    assert (check.within, check.outside) == (3, 0)


def test_the_same_result_again_changes_nothing(store):
    result = made_result()
    record_result(store, "heron", result, day=DAY)
    before = store.row("SELECT count(*) FROM audit")[0]
    assert record_result(store, "heron", result, day=DAY) == Recorded.KNOWN
    assert len(sets_of(store, "heron")) == 1
    assert store.row("SELECT count(*) FROM audit")[0] == before


def test_a_clip_checked_anew_takes_the_place_of_its_earlier_result(store):
    record_result(store, "heron", made_result(values=(80.0, 80.0)), day=DAY)
    (before,) = sets_of(store, "heron")
    assert record_result(store, "heron", made_result(values=(90.0,)), day=DAY) == Recorded.REPLACED
    (after,) = sets_of(store, "heron")
    assert (after.id, after.count) == (before.id, 1)


def test_one_movement_is_not_two_exercises(store):
    record_result(store, "heron", made_result(), day=DAY)
    anew = made_result(exercise="side-raise")
    assert record_result(store, "heron", anew, day=DAY) == Recorded.REPLACED
    assert [one.exercise for one in sets_of(store, "heron")] == ["side-raise"]


def test_a_clip_may_show_two_exercises_one_after_the_other(store):
    record_result(store, "heron", made_result(), day=DAY)
    later = [made_rep(1, [made_check()], start_s=60.0)]
    second = made_result(exercise="side-raise", reps=later)
    assert record_result(store, "heron", second, day=DAY) == Recorded.ADDED
    assert len(sets_of(store, "heron")) == 2


def test_the_other_arm_at_the_same_time_is_a_set_of_its_own(store):
    record_result(store, "heron", made_result(), day=DAY)
    assert record_result(store, "heron", made_result(side="left"), day=DAY) == Recorded.ADDED


def test_a_clip_belongs_to_one_client(store):
    add_client(store, "wren")
    record_result(store, "heron", made_result(), day=DAY)
    with pytest.raises(RecordsError, match="another client"):
        record_result(store, "wren", made_result(), day=DAY)
    assert sets_of(store, "wren") == []


def test_a_clip_that_was_not_judged_is_not_recorded(store):
    unusable = made_result(quality={"usable": False, "tracked_share": 0.0, "problems": []})
    with pytest.raises(RecordsError, match="was not judged"):
        record_result(store, "heron", unusable, day=DAY)


def test_what_the_coach_overrules_counts_from_then_on_beside_what_was_measured(store):
    reps = [made_rep(k, [made_check(verdict="outside")]) for k in (1, 2, 3)]
    record_result(store, "heron", made_result(reps=reps), day=DAY)
    (one,) = sets_of(store, "heron")
    overrule(
        store,
        "heron",
        one.id,
        rep=2,
        check_id="raise-height",
        side="right",
        verdict="within",
        by="coach",
        words="The sleeve hid the elbow.",
    )
    (check,) = sets_of(store, "heron")[0].checks
    assert (check.within, check.outside) == (1, 2)
    (given,) = overrules_of(store, "heron")
    assert (given.measured, given.verdict, given.by) == ("outside", "within", "coach")
    assert result_of(store, one.id)["reps"][1]["checks"][0]["verdict"] == "outside"


def test_what_the_coach_said_outlasts_a_new_check_of_the_clip(store):
    reps = [made_rep(k, [made_check(verdict="outside")]) for k in (1, 2)]
    record_result(store, "heron", made_result(reps=reps), day=DAY)
    (one,) = sets_of(store, "heron")
    say = {"verdict": "within", "by": "coach", "words": "Seen from the side."}
    overrule(store, "heron", one.id, rep=2, check_id="raise-height", side="right", **say)
    add_note(store, "heron", Note(DAY, "coach", "A good week.", set_id=one.id))
    # Checked anew, a repetition before the others was found, so their numbers have moved.
    anew = [made_rep(1, [made_check()], start_s=0.0)]
    anew += [made_rep(k, [made_check(verdict="outside")], start_s=4.0 * k - 4.0) for k in (2, 3)]
    record_result(store, "heron", made_result(reps=anew), day=DAY)
    (check,) = sets_of(store, "heron")[0].checks
    assert (check.within, check.outside) == (2, 1)
    assert [note.words for note in notes_of(store, "heron")] == ["A good week."]


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"rep": 9}, "no whole repetition 9"),
        ({"check_id": "sag"}, "there is no check sag"),
        ({"words": " "}, "needs the reason"),
    ],
)
def test_an_overrule_names_what_is_there_and_why(store, changed, told):
    record_result(store, "heron", made_result(), day=DAY)
    (one,) = sets_of(store, "heron")
    given = {
        "rep": 1,
        "check_id": "raise-height",
        "side": "right",
        "verdict": "outside",
        "by": "coach",
        "words": "It drops.",
    }
    with pytest.raises(RecordsError, match=told):
        overrule(store, "heron", one.id, **given | changed)
    assert overrules_of(store, "heron") == []
