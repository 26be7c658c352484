"""One clip's work is known again by all that went into it, and nothing else is done twice."""

import json
import os
import subprocess
import sys
from dataclasses import replace

import pytest

from formcheck.batch.job import Job, Limits, Setup, from_json, to_json
from formcheck.batch.locks import FolderLocks
from formcheck.batch.workers.work import run_job
from formcheck.exercises.library import load_exercise
from formcheck.exercises.programme import load_programme
from formcheck.pipeline.settings import Settings
from tests.batch.quick_worker import quick_check


@pytest.fixture
def bench(out, add_clip):
    """Do a job here and now; the fixture counts how often the check really ran."""
    out.mkdir()

    class Bench:
        setup = Setup(out=out)
        runs = 0

        def job(self, name="set.mp4", content=None, **changes):
            path = add_clip(name, content) if content is not False else None
            place = str(path) if path else name
            exercise = changes.pop("exercise", load_exercise("scaption-raise"))
            return Job(clip=place, shown=name, folder="set", exercise=exercise, **changes)

        def do(self, job, **setup):
            def counted(*args, **kwargs):
                self.runs += 1
                return quick_check(*args, **kwargs)

            with FolderLocks(out) as locks:
                return run_job(
                    job, replace(self.setup, **setup), locks, lambda news: None, check=counted
                )

    return Bench()


def tolerance_of_20(exercise):
    first, *others = exercise.checks
    return exercise.model_copy(
        update={"checks": (first.model_copy(update={"tolerance": 20.0}), *others)}
    )


def test_finished_work_is_not_done_again(bench):
    job = bench.job()
    first, second = bench.do(job), bench.do(job)
    assert bench.runs == 1
    assert (first.cached, second.cached) == (False, True)
    assert replace(second, cached=False) == first


@pytest.mark.parametrize(
    "change",
    [
        lambda job: replace(job, exercise=tolerance_of_20(job.exercise)),
        lambda job: replace(job, side="left"),
        lambda job: replace(job, client="heron"),
    ],
    ids=["tolerance", "side", "client"],
)
def test_a_changed_order_is_done_again(bench, change):
    job = bench.job()
    bench.do(job)
    assert not bench.do(change(job)).cached
    assert bench.runs == 2


@pytest.mark.parametrize(
    "setup",
    [{"settings": Settings(model="lite")}, {"settings": Settings(speed=0.5)}, {"formcheck": "9"}],
    ids=["model", "settings", "version"],
)
def test_changed_settings_model_or_formcheck_are_done_again(bench, setup):
    job = bench.job()
    bench.do(job)
    assert not bench.do(job, **setup).cached


def test_a_changed_clip_is_done_again_even_if_its_size_and_time_are_the_same(bench):
    job = bench.job(content="a")
    bench.do(job)
    before = os.stat(job.clip)
    bench.job(content="b")
    os.utime(job.clip, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert os.stat(job.clip).st_size == before.st_size
    assert not bench.do(job).cached


def test_going_without_the_cache_changes_no_result(bench):
    job = bench.job()
    bench.do(job)
    assert bench.do(job, settings=Settings(use_cache=False)).cached


@pytest.mark.parametrize("harm", ["cut short", "missing"])
def test_a_result_that_is_not_whole_is_made_again(bench, out, harm):
    job = bench.job()
    bench.do(job)
    sheet = out / "set" / "sheet.html"
    whole = sheet.read_bytes()
    sheet.unlink() if harm == "missing" else sheet.write_bytes(whole[:100])
    assert not bench.do(job).cached
    assert sheet.read_bytes() == whole


def test_what_somebody_put_beside_a_result_stays_with_its_clip(bench, out):
    job = bench.job(content="a")
    bench.do(job)
    (out / "set" / "notes.txt").write_text("call on Friday")
    bench.do(replace(job, side="left"))
    assert (out / "set" / "notes.txt").read_text() == "call on Friday"
    other = bench.do(bench.job(content="b"))  # under the same name
    assert other.folder.startswith("set-")
    assert not (out / other.folder / "notes.txt").exists()
    assert (out / "set" / "notes.txt").read_text() == "call on Friday"
    assert bench.do(bench.job(content="b")).folder == other.folder
    assert bench.runs == 3


def test_a_clip_that_cannot_be_read_is_set_aside_until_it_changes(bench, out, uploads):
    job = bench.job("refused-1.mp4")
    outcome = bench.do(job)
    assert (outcome.status, outcome.exit_code) == ("unreadable", 3)
    assert outcome.why == "Is not what it seems"
    assert json.loads((out / "set-aside" / "set.json").read_text())["outcome"]["why"] == outcome.why
    assert bench.do(job).cached
    assert not bench.do(job, limits=Limits(time_s=1)).cached
    assert not bench.do(job, limits=Limits(time_s=1), retry=True).cached
    assert bench.runs == 3


def test_a_clip_that_does_not_show_its_exercise_clearly_waits_until_that_is_said(bench, out):
    open_job = replace(bench.job("unclear-1.mp4"), exercise=None)
    outcome = bench.do(open_job)
    assert (outcome.status, outcome.triage) == ("set-aside", "unrecognised")
    assert outcome.exit_code == 3
    assert outcome.why.startswith("Side-raise 61%")
    assert outcome.why.endswith("Name it with --exercise or in a manifest.")
    assert bench.do(open_job).cached
    assert bench.do(bench.job("unclear-1.mp4")).exercise == "scaption-raise"
    assert list((out / "set-aside").iterdir()) == []


def test_an_unusable_clip_of_an_open_exercise_still_gets_its_sheet(bench, out):
    outcome = bench.do(replace(bench.job(), exercise=None))
    assert (outcome.status, outcome.exercise) == ("unusable", "")
    assert "Say which exercise" in (out / "set" / "sheet.html").read_text("utf-8")
    assert json.loads((out / "set" / "result.json").read_text())["exercise"] == "unknown"


def test_a_job_comes_out_of_its_message_as_it_went_in(bench, uploads):
    (uploads / "heron.toml").write_text(
        'client = "heron"\nphase = "one"\n'
        '[[items]]\nexercise = "side-raise"\nside = "left"\n'
        '[[items]]\nexercise = "elbow-curl"\nside = "right"\n'
    )
    two = load_programme(uploads / "heron.toml").prescriptions
    job = replace(bench.job(), exercise=None, prescriptions=two)
    sent = json.loads(json.dumps(to_json(job, bench.setup)))
    assert from_json(sent) == (job, bench.setup)


def test_a_clip_that_is_whole_again_leaves_the_set_aside(bench, out, uploads):
    job = bench.job("set.mp4")
    whole = (uploads / "set.mp4").read_bytes()
    bench.do(job)
    (uploads / "set.mp4").write_bytes(whole[:200])
    assert bench.do(job).status == "unreadable"
    assert (out / "set" / "result.json").is_file()  # the earlier result is not lost
    (uploads / "set.mp4").write_bytes(whole)
    assert bench.do(job).status == "unusable"
    assert list((out / "set-aside").iterdir()) == []
    assert bench.runs == 1


def test_a_slip_of_ours_sets_the_clip_aside_with_the_trace(bench, out):
    outcome = bench.do(bench.job("bug-1.mp4"))
    assert outcome.status == "set-aside"
    assert "ZeroDivisionError" in outcome.why
    assert "a slip in our own code" in json.loads((out / "set-aside/set.json").read_text())["notes"]


@pytest.mark.parametrize(
    ("limits", "word"),
    [(Limits(pixels=1000), "megapixels"), (Limits(duration_s=0.1), "minutes")],
    ids=["pixels", "duration"],
)
def test_a_clip_beyond_a_limit_is_refused_before_it_is_checked(bench, limits, word):
    outcome = bench.do(bench.job(), limits=limits)
    assert outcome.status == "unreadable"
    assert word in outcome.why
    assert bench.runs == 0


def test_a_clip_that_has_become_a_link_is_not_followed(bench, tmp_path, uploads):
    job = bench.job()
    elsewhere = tmp_path / "elsewhere.mp4"
    (uploads / "set.mp4").rename(elsewhere)
    (uploads / "set.mp4").symlink_to(elsewhere)
    assert "link" in bench.do(job).why
    assert bench.runs == 0


def test_a_clip_that_has_gone_is_set_aside(bench, uploads):
    job = bench.job()
    (uploads / "set.mp4").unlink()
    assert "no such file" in bench.do(job).why


@pytest.mark.slow
def test_work_that_another_process_has_locked_is_left_to_it(bench, out):
    code = (
        "import sys, pathlib\n"
        "from formcheck.batch.locks import FolderLocks\n"
        "locks = FolderLocks(pathlib.Path(sys.argv[1]))\n"
        "print(locks.acquire('set'), locks.acquire('other'), flush=True)\n"
        "sys.stdin.read()\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code, str(out)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as other:
        assert other.stdout.readline() == "True True\n"
        assert bench.do(bench.job()) is None
        other.kill()
    assert bench.do(bench.job()).status == "unusable"  # a lock ends with its process


def test_a_record_keeps_the_keys_that_programs_read(bench, out):
    bench.do(bench.job())
    stored = json.loads((out / "set" / "batch.json").read_text())
    assert stored.keys() == {"schema", "key", "owner", "outcome", "files"}
    assert stored["outcome"].keys() == {
        "clip", "shown", "folder", "client", "exercise", "side", "made_on", "status", "attention",
        "why", "score", "counted", "dose_met", "duration_s", "frames", "seconds", "kept",
        "title", "marks", "moved_from", "another_exercise",
    }  # fmt: skip
    assert (stored["outcome"]["attention"], stored["outcome"]["kept"]) == ("unusable", False)
