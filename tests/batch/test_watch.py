"""A watched folder: clips are checked once they are whole, until somebody says stop."""

import json
import os
import signal
import subprocess
import sys
import threading
import time
from functools import partial

import pytest

from formcheck.batch import plan
from formcheck.batch.job import Job, Setup
from formcheck.batch.plan import Request
from formcheck.batch.sources import watch
from formcheck.batch.sources.watch import Watch
from formcheck.exercises.library import load_exercise
from formcheck.records.clients import add_client
from formcheck.records.store import open_store

pytestmark = pytest.mark.slow

EXERCISE = load_exercise("scaption-raise")


@pytest.fixture
def clock(monkeypatch):
    class Clock:
        now = 100.0

    monkeypatch.setattr(watch, "monotonic", lambda: Clock.now)
    return Clock


@pytest.fixture
def look(uploads, out, clock):
    """What a look brings, so many seconds after the last one."""
    feed = Watch(
        uploads, out, lambda clip: Job(clip.place, clip.shown, EXERCISE), look_every_s=1, quiet_s=5
    )

    def look(after_s):
        clock.now += after_s
        return [job.shown for job in feed.new_jobs()]

    return look


def test_a_clip_is_given_once_when_it_has_stopped_growing(look, add_clip, uploads):
    path = add_clip("a.mp4")
    whole = path.read_bytes()
    path.write_bytes(whole[:100])
    assert look(0) == []
    assert look(4) == []
    path.write_bytes(whole)
    assert look(2) == []
    assert look(4) == []
    assert look(2) == ["a.mp4"]
    assert look(60) == []


def test_a_clip_that_changes_later_is_given_again(look, add_clip):
    add_clip("a.mp4")
    looked = [look(seconds) for seconds in (0, 6)]
    add_clip("a.mp4", "sent again")
    assert [*looked, look(2), look(6), look(6)] == [[], ["a.mp4"], [], ["a.mp4"], []]


def test_an_empty_file_is_waited_for(look, uploads, add_clip):
    (uploads / "a.mp4").touch()
    assert [look(9), look(9), look(9)] == [[], [], []]
    add_clip("a.mp4")
    assert [look(2), look(6)] == [[], ["a.mp4"]]


def test_a_clip_that_is_taken_away_is_forgotten(look, uploads, add_clip):
    add_clip("a.mp4")
    looked = [look(0), look(6)]
    (uploads / "a.mp4").unlink()
    looked.append(look(2))
    add_clip("a.mp4")
    assert [*looked, look(2), look(6)] == [[], ["a.mp4"], [], [], ["a.mp4"]]


def test_what_is_read_of_a_clip_is_told_when_it_comes_and_its_answers_are_taken_along(
    clock, add_clip, uploads, out, tmp_path
):
    with open_store(tmp_path / "records.sqlite", create=True) as store:
        add_client(store, "heron")
    told = []
    request = Request(
        (str(uploads),),
        Setup(out=out),
        watch=True,
        ask=lambda question: True,
        tell=told.append,
        records=tmp_path / "records.sqlite",
    )
    feed = plan.make_plan(request).feed
    add_clip("heron_row_right_2026-03-31.mp4")
    said = {"formcheck": "answers", "client": "heron", "day": "2026-03-31", "pain_during": 3}
    (uploads / "heron_answers_2026-03-31_101500.json").write_text(json.dumps(said))
    assert list(feed.new_jobs()) == []
    clock.now += 60
    (job,) = feed.new_jobs()
    assert (job.client, job.exercise_name, job.answer.pain_during) == ("heron", "row", 3)
    assert [line.split(": ")[1][:24] for line in told] == [
        "read from the name",
        "no programme is recorded",
    ]


def test_clips_are_checked_as_they_come_until_it_is_stopped(run_quick, add_clip, out, monkeypatch):
    monkeypatch.setattr(plan, "Watch", partial(Watch, look_every_s=0.1, quiet_s=0.2))
    stop = threading.Event()

    def send():
        for name in ("first", "second"):
            add_clip(f"{name}.mp4")
            while not (out / name / "result.json").exists():
                time.sleep(0.02)
        stop.set()

    sender = threading.Thread(target=send)
    sender.start()
    done = run_quick(watch=True, stop=stop)
    sender.join()
    assert set(done) <= {"first.mp4", "second.mp4"}
    assert "second.mp4" in (out / "summary.csv").read_text()


def test_the_command_stops_cleanly_when_told_to(uploads, out):
    command = [sys.executable, "-m", "formcheck", "batch", "--watch", str(uploads)]
    command += ["--exercise", "scaption-raise", "--out", str(out)]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env={**os.environ}
    ) as watching:
        while not (out / ".formcheck-batch" / "locks").exists():
            assert watching.poll() is None
            time.sleep(0.02)
        watching.send_signal(signal.SIGTERM)
        _, complaints = watching.communicate(timeout=30)
    assert (watching.returncode, complaints) == (
        0,
        "formcheck: stopped early; the same command goes on from here.\n",
    )
    assert (out / "summary.html").is_file()
