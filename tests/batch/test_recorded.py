"""A batch judges the clips of a client in the record by what is prescribed there for their day."""

from dataclasses import replace
from datetime import date

import pytest

from formcheck.batch.job import Job, Setup
from formcheck.batch.plan import Request, make_plan
from formcheck.batch.sources.recorded import prescribed_in
from formcheck.catalogue.red_flags import MOST_PAIN
from formcheck.errors import RecordsError
from formcheck.exercises.library import library_names, load_exercise
from formcheck.exercises.programme import load_programme
from formcheck.records.clients import add_client
from formcheck.records.programmes import prescribe
from formcheck.records.signature import sign_phase
from formcheck.records.store import open_store

FIRST = """
client = "Blue Heron"
pain_at_most = 3

[[limits]]
measure = "shoulder_elevation"
never_above = 120

[[phases]]
name = "positions"
[[phases.items]]
exercise = "belly-press"
side = "right"
[[phases.items]]
exercise = "scaption-raise"
side = "alternating"

[[phases]]
name = "loaded"
[[phases.items]]
exercise = "belly-press"
side = "right"
load = "2 kg"
"""
SECOND = FIRST.replace("never_above = 120", "never_above = 110").replace("pain_at_most = 3", "")
EARLY, LATE = date(2026, 1, 5), date(2026, 3, 2)


@pytest.fixture
def place(tmp_path):
    """A record with two versions of one client's programme, the second in its second phase."""
    with open_store(tmp_path / "records.sqlite", create=True) as store:
        add_client(store, "Blue Heron")
        add_client(store, "stork")
        for text, day in ((FIRST, EARLY), (SECOND, LATE)):
            (tmp_path / "plan.toml").write_text(text)
            prescribe(store, "Blue Heron", tmp_path / "plan.toml", from_day=day)
        signed = {"by": "coach", "note": "steady", "although_not_met": True}
        sign_phase(store, "Blue Heron", "loaded", from_day=LATE, **signed)
    return tmp_path / "records.sqlite"


@pytest.fixture
def applied(place):
    def applied(day=date(2026, 2, 1), exercise="belly-press", side="right", ask=None, **more):
        known = load_exercise(exercise) if isinstance(exercise, str) else exercise
        job = Job("/a.mp4", "a.mp4", known, side=side, made_on=day, client="blue-heron", **more)
        with prescribed_in(place) as prescribed:
            return prescribed.applied(job, ask)

    return applied


def highest(job):
    """The limit that is set for the elevation of the arm; None without one."""
    limits = (one.high for one in job.exercise.checks if one.id == "never-above-shoulder-elevation")
    return next(limits, None)


def test_the_version_and_phase_of_its_day_are_used_and_named(applied):
    job, told = applied()
    assert (job.client, job.prescription.phase, highest(job)) == ("Blue Heron", "positions", 120)
    assert job.most_pain == 3
    assert told == ('judged by version 1 of Blue Heron\'s recorded programme, phase "positions".')
    job, told = applied(date(2026, 3, 5))
    assert (job.prescription.load, highest(job), job.most_pain) == ("2 kg", 110, MOST_PAIN)
    assert "version 2" in told


def test_before_the_first_programme_there_is_none(applied):
    job, told = applied(date(2026, 1, 4))
    assert (job.prescription, highest(job)) == (None, None)
    assert "Blue Heron had no recorded programme on 4 January 2026" in told


def test_without_a_day_the_present_programme_is_asked_about(applied):
    job, told = applied(day=None)
    assert job.prescription is None
    assert "its day is not known" in told
    asked = []
    job, told = applied(day=None, ask=lambda question: not asked.append(question))
    assert job.prescription.phase == "loaded"
    assert len(asked) == 1
    job, _ = applied(day=None, ask=lambda question: False)
    assert job.prescription is None


def test_what_is_prescribed_in_another_phase_keeps_its_limits(applied, place):
    with prescribed_in(place) as prescribed:
        own = prescribed.exercises("Blue Heron")["scaption-raise"]
    job, told = applied(date(2026, 3, 5), exercise=own)
    assert (job.prescription.listed, highest(job)) == (False, 110)
    assert "with that phase's targets and limits, and within the limits" in told


def test_the_clients_limits_reach_what_is_not_prescribed(applied):
    for job, told in (applied(exercise="row"), applied(side="left")):
        assert (job.prescription.listed, job.prescription.version, highest(job)) == (False, 1, 120)
        assert "as the library has it, within the limits that Blue Heron's programme sets" in told
        assert job.most_pain == 3  # it is the client's, whatever they do


def test_the_tighter_of_two_limits_holds(applied, place):
    with prescribed_in(place) as prescribed:
        own = prescribed.exercises("Blue Heron")["scaption-raise"]
    (limit,) = (one for one in own.checks if one.id == "never-above-shoulder-elevation")
    for high, holds in ((60.0, 60.0), (150.0, 110.0)):
        other = limit.model_copy(update={"high": high})
        checks = tuple(other if one is limit else one for one in own.checks)
        mine = own.model_copy(update={"checks": checks})
        job, _ = applied(date(2026, 3, 5), exercise=mine)
        assert highest(job) == holds
        assert [one.id for one in job.exercise.checks].count(limit.id) == 1


def test_any_exercise_on_a_side_that_is_not_prescribed_has_the_limits(applied):
    job, _ = applied(date(2026, 3, 5), exercise=None, side="left")
    assert job.exercise is None
    assert {one.exercise.name for one in job.prescriptions} == set(library_names())
    for one in job.candidates:
        assert (one.side, one.prescription.listed) == ("left", False)
        assert "never-above-shoulder-elevation" in {check.id for check in one.exercise.checks}


def test_one_arm_may_be_filmed_of_two_that_take_turns(applied):
    job, _ = applied(exercise="scaption-raise", side="left")
    assert (job.side, job.prescription.side, highest(job)) == ("left", "alternating", 120)


def test_what_is_not_yet_due_is_judged_and_said_not_to_count(place, tmp_path):
    with open_store(place) as store:
        text = FIRST.replace("Blue Heron", "stork").replace(
            'side = "right"', 'side = "right"\nafter_sessions = 2', 1
        )
        (tmp_path / "plan.toml").write_text(text)
        prescribe(store, "stork", tmp_path / "plan.toml", from_day=EARLY)
    job = Job("/a", "a.mp4", load_exercise("belly-press"), side="right", client="stork")
    with prescribed_in(place) as prescribed:
        job, told = prescribed.applied(replace(job, made_on=date(2026, 2, 1)))
    assert job.prescription is not None
    assert "after 2 sessions of the phase, of which 0 are recorded by then" in told


def test_an_exercise_that_is_not_known_is_one_of_those_prescribed(applied):
    job, told = applied(exercise=None, side=None)
    assert job.exercise is None
    assert [one.exercise.name for one in job.prescriptions] == ["belly-press", "scaption-raise"]
    assert "version 1" in told


def test_what_is_given_by_hand_wins(applied, tmp_path):
    (tmp_path / "hand.toml").write_text(FIRST.replace("120", "100"))
    own = load_programme(tmp_path / "hand.toml").prescriptions[0]
    job, told = applied(prescription=own, exercise=own.exercise)
    assert (highest(job), told) == (100, "")
    mine = load_exercise("belly-press").model_copy(update={"title": "My own"})
    job, told = applied(exercise=mine)
    assert (job.exercise.title, job.prescription.listed, highest(job)) == ("My own", False, 120)
    assert "the exercise file that was given is used" in told


def test_a_client_who_is_not_in_the_record_is_told(place):
    job = Job("/a.mp4", "a.mp4", client="wren")
    with prescribed_in(place) as prescribed:
        assert prescribed.applied(job) == (
            job,
            "no client in the record is called wren, so no recorded programme is used.",
        )
        assert prescribed.applied(Job("/a.mp4", "a.mp4")) == (Job("/a.mp4", "a.mp4"), "")
        assert "no programme is recorded" in prescribed.applied(Job("/", "a", client="stork"))[1]


def test_two_clients_whose_names_read_alike_are_not_guessed_at(place):
    with open_store(place) as store:
        add_client(store, "blue-heron")
    with prescribed_in(place) as prescribed:
        job, told = prescribed.applied(Job("/a.mp4", "a.mp4", client="blue-heron"))
    assert job.prescription is None
    assert "more than one client" in told


def test_a_batch_reads_the_name_and_looks_the_client_up(place, add_clip, uploads, out):
    add_clip("Blue Heron scaption raise left 2026-02-03.mp4")
    add_clip("blue-heron_belly-press_right_2026-03-04.mp4")
    add_clip("IMG_1.mp4")
    told = []
    plan = make_plan(Request((str(uploads),), Setup(out=out), tell=told.append, records=place))
    assert [(j.client, j.prescription and j.prescription.phase) for j in plan.jobs] == [
        ("Blue Heron", "positions"),
        ("", None),
        ("Blue Heron", "loaded"),
    ]
    assert len(told) == 4
    assert sum("judged by version" in line for line in told) == 2


def test_a_manifest_is_looked_up_too_unless_it_names_a_programme(place, add_clip, uploads, out):
    add_clip("a.mp4")
    (uploads / "own.toml").write_text(FIRST.replace("120", "100"))
    (uploads / "list.csv").write_text(
        "clip,client,exercise,side,date,programme,phase\n"
        "a.mp4,Blue Heron,belly-press,right,2026-03-04,,\n"
        "a.mp4,,scaption-raise,,2026-03-04,own.toml,positions\n"
    )
    source = (str(uploads / "list.csv"),)
    jobs = make_plan(Request(source, Setup(out=out), records=place)).jobs
    assert [highest(job) for job in jobs] == [110, 100]


def test_an_exercise_of_the_clients_own_is_read_from_the_name(
    place, tmp_path, add_clip, uploads, out
):
    (tmp_path / "wall-press.toml").write_text('like = "belly-press"\nname = "wall-press"\n')
    with open_store(place) as store:
        (tmp_path / "plan.toml").write_text(
            'client = "stork"\nphase = "one"\n[[items]]\nexercise = "wall-press.toml"\nside = "left"\n'
        )
        prescribe(store, "stork", tmp_path / "plan.toml", from_day=EARLY)
    add_clip("stork_wall-press_left_2026-03-04.mp4")
    (job,) = make_plan(Request((str(uploads),), Setup(out=out), records=place)).jobs
    assert (job.client, job.exercise.name, job.prescription.phase) == ("stork", "wall-press", "one")


def test_a_record_that_cannot_be_read_is_not_passed_over(tmp_path, add_clip, uploads, out):
    add_clip("blue-heron_belly-press_right_2026-03-04.mp4")
    (tmp_path / "records.sqlite").write_bytes(b"nothing of the kind" * 300)
    with pytest.raises(RecordsError):
        make_plan(Request((str(uploads),), Setup(out=out), records=tmp_path / "records.sqlite"))
