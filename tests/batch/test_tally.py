"""A batch knows how far it is, and how long the rest will take at its own pace."""

from dataclasses import replace

import pytest

from formcheck.batch import tally
from formcheck.batch.job import Job, outcome_of
from formcheck.batch.tally import Tally
from formcheck.exercises.library import load_exercise

EXERCISE = load_exercise("scaption-raise")


@pytest.fixture
def clock(monkeypatch):
    class Clock:
        now = 0.0

    monkeypatch.setattr(tally, "monotonic", lambda: Clock.now)
    return Clock


@pytest.fixture
def jobs(uploads):
    sizes = {"a": 1000, "b": 1000, "c": 2000}
    for name, size in sizes.items():
        (uploads / f"{name}.mp4").write_bytes(bytes(size))
    return [
        Job(str(uploads / f"{name}.mp4"), f"{name}.mp4", EXERCISE, folder=name) for name in sizes
    ]


def outcome(job, **changes):
    return replace(outcome_of(job, "analysed", "well", ""), frames=300, **changes)


def test_the_pace_is_that_of_the_work_really_done(clock, jobs):
    standing = Tally.of(jobs, started_s=0.0)
    standing.add(outcome(jobs[0], cached=True))
    assert (standing.share, standing.seconds_left) == (0.25, None)
    clock.now = 10.0
    standing.add(outcome(jobs[1]))
    assert standing.share == 0.5
    assert standing.seconds_left == pytest.approx(20.0)
    assert standing.frames_per_s == pytest.approx(30.0)
    standing.at_work({"c": 0.5})
    assert standing.share == 0.75
    assert standing.seconds_left == pytest.approx(5.0)
    assert (standing.done, standing.total, standing.cached) == (2, 3, 1)


def test_clips_that_come_into_a_watched_folder_are_counted(clock, jobs):
    standing = Tally.of([], started_s=0.0)
    standing.add(outcome(jobs[0]))
    assert (standing.done, standing.total, standing.share) == (1, 1, 0.0)


def test_it_is_never_all_done_while_a_clip_is_at_work(clock, jobs):
    standing = Tally.of(jobs, started_s=0.0)
    clock.now = 10.0
    standing.add(outcome(jobs[0]))
    standing.at_work({"a": 1.0, "b": 0.5, "c": 0.0})
    assert standing.share == pytest.approx(1500 / 4000)  # the first counts once
    standing.add(outcome(jobs[1]))
    standing.at_work({"c": 1.0})
    assert (standing.share, standing.seconds_left) == (0.99, None)
    standing.add(outcome(jobs[2]))
    assert standing.share == 1.0
