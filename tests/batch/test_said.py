"""What clients say reaches their pages: from a manifest, from files beside the clips, and stops."""

import json
from pathlib import Path

import pytest

from formcheck.batch.job import Job, Setup, from_json, to_json
from formcheck.batch.plan import Request, make_plan
from formcheck.batch.sources.manifest import read_manifest
from formcheck.batch.triage import LEVELS, triage_answer
from formcheck.errors import UsageError
from formcheck.records.answer_file import reasons_to_stop

HEAD = (
    "clip,client,date,Pain before,pain_during,pain after,pain next morning,effort,"
    "stopped by,words,red flags\n"
)


@pytest.fixture
def jobs(uploads, add_clip):
    add_clip("a.mp4")

    def jobs(*rows):
        (uploads / "list.csv").write_text(HEAD + "\n".join(rows) + "\n")
        return read_manifest(uploads / "list.csv", exercise="row", side=None)

    return jobs


def test_columns_of_a_manifest_are_answers(jobs):
    (job,) = jobs("a.mp4,heron,2026-03-31,1,4,2,1,6,tired,went well,none")
    said = job.answer
    assert (said.pain_before, said.pain_during, said.pain_after) == (1, 4, 2)
    assert (said.pain_next_morning, said.effort) == (1, 6)
    assert (said.stopped_by, said.words, said.flags_raised) == ("tired", "went well", ())
    assert len(said.red_flags) == 9
    assert triage_answer(job) is None


def test_no_answers_are_no_answer(jobs):
    (job,) = jobs("a.mp4,heron,2026-03-31,,,,,,,,")
    assert job.answer is None


@pytest.mark.parametrize(
    ("row", "column", "told"),
    [
        ("a.mp4,heron,2026-03-31,11,,,,,,,", "pain before", "not a whole number from 0 to 10"),
        ("a.mp4,heron,2026-03-31,,-1,,,,,,", "pain during", "not a whole number from 0 to 10"),
        ("a.mp4,heron,2026-03-31,,,,,,,,traum", "red flags", 'did you mean "trauma"?'),
        ("a.mp4,heron,,3,,,,,,,", "date", "need the day"),
    ],
)
def test_wrong_answers_are_told_with_row_and_column(jobs, row, column, told):
    with pytest.raises(UsageError) as error:
        jobs(row)
    assert f"row 2, column {column}" in str(error.value)
    assert told in str(error.value)


def test_a_red_flag_comes_before_everything_else(jobs):
    (job,) = jobs("a.mp4,heron,2026-03-31,,,,,,,,numb-or-weak")
    level, why = triage_answer(job)
    assert level == LEVELS[0] == "stop"
    assert "New numbness" in why


def test_pain_above_the_limit_stops_at_it_does_not(jobs):
    (job,) = jobs("a.mp4,heron,2026-03-31,,5,,,9,,,")
    assert reasons_to_stop(job.answer, 5) == ()
    (reason,) = reasons_to_stop(job.answer, 4)
    assert (reason.pain, reason.value, reason.limit) == ("pain_during", 5, 4)


def test_answers_travel_to_workers(jobs):
    (job,) = jobs("a.mp4,heron,2026-03-31,1,,,,,,,trauma")
    message = json.loads(json.dumps(to_json(job, Setup(out=Path(job.clip).parent))))
    assert from_json(message)[0].answer == job.answer


def save(folder, name="heron_answers_2026-03-31_101500.json", **said):
    content = {"formcheck": "answers", "version": 1, "client": "heron", "day": "2026-03-31"}
    (folder / name).write_text(json.dumps(content | said))


@pytest.fixture
def planned(uploads, out, add_clip):
    add_clip("heron_belly-press_right_2026-03-31.mp4")
    add_clip("heron_row_right_2026-03-31.mp4")
    add_clip("stork_row_right_2026-03-31.mp4")

    def planned():
        told = []
        plan = make_plan(Request((str(uploads),), Setup(out=out), tell=told.append))
        return {(job.client, job.exercise_name): job.answer for job in plan.jobs}, told

    return planned


def test_a_file_of_answers_is_of_the_clips_of_its_client_and_day(uploads, planned):
    save(uploads, pain_during=3)
    save(uploads, "heron_answers_2026-03-31_120000.json", pain_during=6, exercise="row")
    answers, _ = planned()
    assert answers[("heron", "belly-press")].pain_during == 3
    assert answers[("heron", "row")].pain_during == 6
    assert answers[("stork", "row")] is None


def test_a_file_that_fits_no_clip_is_told(uploads, planned):
    save(uploads, day="2026-03-30", effort=2)
    _, read = planned()
    assert any("fit no clip here" in line for line in read)


@pytest.mark.parametrize(
    "said",
    [
        {"pain_during": 12},
        {"pain_during": "3"},
        {"red_flags": {"other": True}},
        {"day": "yesterday"},
        {"words": 7},
        {"formcheck": "something"},
    ],
)
def test_a_file_that_no_form_saved_is_told_and_stops_nothing(uploads, planned, said):
    save(uploads, **said)
    answers, read = planned()
    assert set(answers.values()) == {None}
    assert any(line.startswith("heron_answers_2026-03-31_101500.json:") for line in read)


def test_a_job_without_answers_has_none():
    assert triage_answer(Job(clip="/a.mp4", shown="a.mp4")) is None
