"""What comes before a phase is met, not met or unknown; the coach's signature alone moves it."""

import pytest

from formcheck.errors import RecordsError
from formcheck.records.answers import clear
from formcheck.records.phases import in_force
from formcheck.records.readiness import RuleName, State, readiness_of
from formcheck.records.signature import sign_phase, take_back
from tests.records.weeks import START, day_of, filmed, prescribed, said

UNTIL = day_of(3, 2)


@pytest.fixture
def plan(store, tmp_path):
    prescribed(store, tmp_path)
    return store


@pytest.fixture
def good(plan):
    """Two good weeks of three sessions, all filmed and answered."""
    for week in (1, 2):
        for weekday in (0, 2, 4):
            filmed(plan, day_of(week, weekday), exercise="belly-press", held_s=5.0)
            said(plan, day_of(week, weekday))
    return plan


def state(store, name, until=UNTIL):
    gate = readiness_of(store, "heron", until).gate
    return next(rule for rule in gate.rules if rule.name == name)


def test_good_weeks_propose_the_next_phase_and_move_nothing(good):
    ready = readiness_of(good, "heron", UNTIL)
    assert (ready.phase, ready.gate.phase, ready.gate.proposed) == ("positions", "loaded", True)
    assert {rule.state for rule in ready.gate.rules} == {State.MET}
    assert in_force(good, "heron", UNTIL).programme.phase == "positions"


def test_the_signature_moves_the_phase_from_its_day_on(good):
    sign_phase(good, "heron", "loaded", from_day=day_of(3, 2), by="coach", note="Looks steady.")
    assert in_force(good, "heron", day_of(3, 1)).programme.phase == "positions"
    here = in_force(good, "heron", day_of(3, 2))
    assert (here.programme.phase, here.entry.by) == ("loaded", "coach")
    ready = readiness_of(good, "heron", UNTIL)
    assert (ready.phase, ready.gate) == ("loaded", None)


@pytest.mark.parametrize(("by", "note"), [("", "x"), ("coach", " ")])
def test_nobody_signs_without_a_name_and_a_note(good, by, note):
    with pytest.raises(RecordsError, match="needs who gives it"):
        sign_phase(good, "heron", "loaded", from_day=UNTIL, by=by, note=note)


def test_the_coach_may_go_back(good):
    sign_phase(good, "heron", "loaded", from_day=day_of(3, 0), by="coach", note="On.")
    sign_phase(good, "heron", "positions", from_day=day_of(3, 4), by="coach", note="It hurt.")
    assert in_force(good, "heron", day_of(3, 4)).programme.phase == "positions"
    with pytest.raises(RecordsError, match="which is later"):
        sign_phase(good, "heron", "loaded", from_day=day_of(3, 3), by="coach", note="On.")


def test_nobody_signs_while_a_warning_is_open_not_even_in_spite_of_it(good):
    said(good, UNTIL, red_flags={"numb-or-weak": True})
    signed = {"from_day": day_of(3, 1), "by": "coach", "note": "On.", "although_not_met": True}
    with pytest.raises(RecordsError, match="look into it first"):
        sign_phase(good, "heron", "loaded", **signed)
    assert in_force(good, "heron", UNTIL).programme.phase == "positions"
    clear(good, "heron", through_day=UNTIL, by="coach", note="Seen by the doctor.")
    assert sign_phase(good, "heron", "loaded", **signed).phase == "loaded"


def test_rules_that_are_not_met_are_named_and_signed_over_only_when_that_is_said(good):
    filmed(good, day_of(3, 0), exercise="belly-press", limit="passed")
    signed = {"from_day": UNTIL, "by": "coach", "note": "On."}
    with pytest.raises(RecordsError, match="no-limit-passed, pain-during, settled"):
        sign_phase(good, "heron", "loaded", **signed)
    entry = sign_phase(good, "heron", "loaded", **signed, although_not_met=True)
    assert entry.although == ("no-limit-passed", "pain-during", "settled")
    assert in_force(good, "heron", UNTIL).entry == entry


def test_a_signature_that_is_taken_back_no_longer_counts_and_stays_in_the_record(good):
    sign_phase(good, "heron", "loaded", from_day=UNTIL, by="coach", note="On.")
    with pytest.raises(RecordsError, match="who does so and a note"):
        take_back(good, "heron", by="coach", note=" ")
    take_back(good, "heron", by="coach", note="Wrong client.")
    ready = readiness_of(good, "heron", UNTIL)
    assert (ready.phase, ready.since, ready.gate.proposed) == ("positions", START, True)
    (row,) = good.rows("SELECT * FROM phase_entry")
    assert (row["phase"], row["taken_back_by"], row["taken_back_note"]) == (
        *("loaded", "coach"),
        "Wrong client.",
    )
    lines = good.rows("SELECT change FROM audit WHERE subject = 'phase_entry' ORDER BY id")
    assert [line["change"] for line in lines] == ["added", "changed"]
    with pytest.raises(RecordsError, match="no signature"):
        take_back(good, "heron", by="coach", note="Again.")
    sign_phase(good, "heron", "loaded", from_day=day_of(3, 0), by="coach", note="On after all.")
    assert in_force(good, "heron", UNTIL).programme.phase == "loaded"


def test_days_are_counted(plan):
    for weekday in range(5):
        filmed(plan, day_of(1, weekday), exercise="belly-press")
    rule = state(plan, RuleName.DAYS)
    assert (rule.state, rule.asked, rule.found) == (State.NOT_MET, 6, 5)


def test_weeks_are_counted_from_the_start_of_the_phase(good):
    assert state(good, RuleName.WEEKS, day_of(2, 6)).state == State.NOT_MET
    assert state(good, RuleName.WEEKS, day_of(3, 0)).state == State.MET


@pytest.mark.parametrize(
    ("verdict", "expected"),
    [("outside", State.NOT_MET), ("borderline", State.UNKNOWN), ("within", State.MET)],
)
def test_what_is_borderline_is_not_taken_for_right(good, verdict, expected):
    filmed(good, day_of(3, 0), exercise="belly-press", verdict=verdict)
    said(good, day_of(3, 0))
    assert state(good, RuleName.SHARE_WITHIN).state == expected


@pytest.mark.parametrize(
    ("limit", "expected"),
    [
        ("passed", State.NOT_MET),
        ("perhaps-passed", State.NOT_MET),
        ("unchecked", State.UNKNOWN),
        ("kept", State.MET),
    ],
)
def test_a_limit_is_kept_only_where_it_surely_was(good, limit, expected):
    filmed(good, day_of(3, 0), exercise="belly-press", limit=limit)
    rule = state(good, RuleName.NO_LIMIT_PASSED)
    assert rule.state == expected
    if expected == State.NOT_MET:
        assert rule.days == (day_of(3, 0),)


def test_a_limit_counts_in_whatever_exercise_it_was_passed(good):
    filmed(good, day_of(2, 3), exercise="push-up-plus", limit="passed")
    rule = state(good, RuleName.NO_LIMIT_PASSED)
    assert (rule.state, rule.days) == (State.NOT_MET, (day_of(2, 3),))
    (passed,) = rule.limits
    assert (passed.exercise, passed.measure) == ("push-up-plus", "shoulder_elevation")
    assert (passed.value, passed.uncertainty, passed.high) == (128.0, 4.0, 120.0)


def test_a_limit_that_was_passed_before_the_last_sessions_is_no_longer_held_against_it(good):
    filmed(good, day_of(1, 1), exercise="push-up-plus", limit="passed")
    assert state(good, RuleName.NO_LIMIT_PASSED).state == State.MET


def test_pain_above_what_is_asked_for_counts_against_it(good):
    filmed(good, day_of(3, 0), exercise="belly-press")
    said(good, day_of(3, 0), during=4)
    rule = state(good, RuleName.PAIN_DURING)
    assert (rule.state, rule.asked, rule.found, rule.days) == (
        State.NOT_MET,
        3,
        4,
        (day_of(3, 0),),
    )


def test_a_session_without_an_answer_is_unknown_not_free_of_pain(good):
    filmed(good, day_of(3, 0), exercise="belly-press")
    rule = state(good, RuleName.PAIN_DURING)
    assert (rule.state, rule.days) == (State.UNKNOWN, (day_of(3, 0),))
    assert state(good, RuleName.SETTLED).state == State.UNKNOWN


def test_pain_that_has_not_settled_by_morning_counts_against_it(good):
    filmed(good, day_of(3, 0), exercise="belly-press")
    said(good, day_of(3, 0), before=1, morning=2)
    assert state(good, RuleName.SETTLED).state == State.NOT_MET


def test_a_warning_sign_blocks_everything_until_the_coach_clears_it(good):
    said(good, day_of(1, 4), words="My hand went numb.", red_flags={"numbness": True})
    ready = readiness_of(good, "heron", UNTIL)
    assert not ready.gate.proposed
    assert [one.flags_raised for one in ready.open] == [("numbness",)]
    assert state(good, RuleName.NOTHING_OPEN).state == State.NOT_MET
    clear(good, "heron", through_day=UNTIL, by="coach", note="Seen by the doctor.")
    assert readiness_of(good, "heron", UNTIL).gate.proposed


def test_pain_above_the_programmes_limit_blocks_it_too(good):
    said(good, day_of(1, 4), during=6)
    assert state(good, RuleName.NOTHING_OPEN).state == State.NOT_MET


def test_an_item_is_due_after_its_sessions(plan):
    filmed(plan, day_of(1, 0), exercise="belly-press")
    items = {one.exercise: one.due for one in readiness_of(plan, "heron", UNTIL).items}
    assert items == {"belly-press": True, "scaption-raise": False}
    filmed(plan, day_of(1, 2), exercise="belly-press")
    items = {one.exercise: one.due for one in readiness_of(plan, "heron", UNTIL).items}
    assert items == {"belly-press": True, "scaption-raise": True}


def test_without_a_programme_there_is_nothing_to_be_ready_for(store):
    assert readiness_of(store, "heron", START) is None
