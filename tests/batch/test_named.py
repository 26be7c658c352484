"""A batch reads from names whose clips they are; it tells what it read and asks where it is not sure."""

from datetime import date

import pytest

from formcheck.batch.job import Job, Setup
from formcheck.batch.plan import Request, make_plan
from formcheck.batch.sources import named
from formcheck.batch.sources.named import with_name
from formcheck.exercises.library import load_exercise


@pytest.fixture(autouse=True)
def _on_a_day(monkeypatch):
    class April(date):
        @classmethod
        def today(cls):
            return cls(2026, 4, 2)

    monkeypatch.setattr(named, "date", April)


def job(shown, **known):
    return Job(clip=f"/uploads/{shown}", shown=shown, **known)


def test_a_given_name_says_everything():
    read, told = with_name(job("monday/heron_belly-press_right_2026-03-31.mp4"))
    assert (read.client, read.exercise.name, read.side) == ("heron", "belly-press", "right")
    assert read.made_on == date(2026, 3, 31)
    assert told == (
        "monday/heron_belly-press_right_2026-03-31.mp4: read from the name: "
        "heron, belly-press, right side, 31 March 2026."
    )


def test_any_other_name_says_nothing():
    assert with_name(job("IMG_0042.mov")) == (job("IMG_0042.mov"), "")


def test_what_is_doubtful_is_not_used_unless_somebody_says_so():
    doubtful = job("heron_bely-press_right_2026-03-31.mp4")
    read, told = with_name(doubtful)
    assert read.exercise is None
    assert read.client == ""
    assert read.side == "right"
    assert "Not sure, and not used: client heron, belly-press." in told
    asked = []
    read, told = with_name(doubtful, lambda question: asked.append(question) or True)
    assert (read.client, read.exercise.name) == ("heron", "belly-press")
    assert "Not sure" not in told
    assert len(asked) == 2
    read, _ = with_name(doubtful, lambda question: "clip of" in question)
    assert (read.client, read.exercise) == ("heron", None)


def test_what_was_asked_for_stays():
    row = load_exercise("row")
    read, told = with_name(job("heron_belly-press_right_2026-03-31.mp4", exercise=row, side="left"))
    assert (read.exercise, read.side, read.client) == (row, "left", "heron")
    assert "row, left side" in told


def test_of_arms_that_work_together_no_side_is_looked_at_alone():
    read, _ = with_name(job("heron_push-up-plus_right_2026-03-31.mp4"))
    assert read.side == "both"


def test_a_batch_over_a_folder_tells_what_it_read(add_clip, uploads, out):
    add_clip("heron_belly-press_right_2026-03-31.mp4")
    add_clip("IMG_1.mp4")
    told = []
    plan = make_plan(Request((str(uploads),), Setup(out=out), tell=told.append))
    assert [(one.client, one.exercise_name) for one in plan.jobs] == [
        ("", ""),
        ("heron", "belly-press"),
    ]
    assert len(told) == 1
