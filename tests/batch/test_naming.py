"""Result folders have names that are safe everywhere and stay with their clip."""

import json
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formcheck.batch.job import Job
from formcheck.batch.sources.naming import Namer
from formcheck.exercises.library import load_exercise
from formcheck.result_folder import MAX_LENGTH, safe_name


@settings(deadline=None, max_examples=60)
@given(st.text())
def test_any_text_makes_a_name_that_every_system_takes(text):
    name = safe_name(text)
    assert 1 <= len(name) <= MAX_LENGTH + len("clip-")
    assert not set(name) & set('/\\:*?"<>|\0\n\r\t')
    assert name.isprintable()
    assert name[0] not in ".- "
    assert name[-1] not in ". "
    assert name.split(".")[0].casefold() not in {"con", "nul", "com1", "lpt9", "set-aside"}


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("set 1", "set 1"),
        ("Schulter_übung", "Schulter_übung"),
        ("../../etc/passwd", "etc-passwd"),
        ("<script>alert(1)</script>", "script-alert-1---script"),
        ("CON", "clip-CON"),
        ("...", "clip"),
        ("a\u202egpm", "a-gpm"),
    ],
)
def test_names_stay_readable(text, name):
    assert safe_name(text) == name


@pytest.fixture
def job(uploads):
    exercise = load_exercise("scaption-raise")

    def job(shown, place=None):
        return Job(clip=str(place or uploads / shown), shown=shown, exercise=exercise)

    return job


def own(out, job, folder, size=0):
    (out / folder).mkdir(parents=True)
    record = {
        "schema": 2,
        "key": "",
        "owner": {**job.identity, "bytes": size},
        "outcome": dict.fromkeys(
            ("clip", "shown", "folder", "client", "exercise", "side", "made_on", "why"), ""
        )
        | {"status": "analysed", "attention": "well"},
    }
    (out / folder / "batch.json").write_text(json.dumps(record))


def test_clips_of_one_name_get_folders_of_their_own(job, out):
    namer = Namer(out)
    names = [namer.name(job(name)) for name in ("a.mp4", "a.mov", "A.mp4", "monday/a.mp4")]
    assert names[0] == "a"
    assert len({name.casefold() for name in names}) == 4
    assert namer.name(job("a.mp4")) == "a"


def test_another_exercise_for_the_same_clip_gets_a_folder_of_its_own(job, out):
    namer = Namer(out)
    other = replace(job("a.mp4"), exercise=load_exercise("elbow-curl"))
    assert namer.name(job("a.mp4")) != namer.name(other)


def test_a_clip_whose_exercise_is_named_later_keeps_its_folder(job, out):
    own(out, replace(job("a.mp4"), exercise=None), "a")
    assert Namer(out).name(job("a.mp4")) == "a"
    assert Namer(out).name(job("monday/a.mp4")) != "a"


def test_a_folder_stays_with_its_clip_whatever_comes_before_it(job, out, add_clip):
    add_clip("b/a.mp4")
    own(out, job("b/a.mp4"), "a")
    namer = Namer(out)
    assert namer.name(job("a.mp4")) != "a"
    assert namer.name(job("b/a.mp4")) == "a"


def test_a_folder_that_a_batch_did_not_make_is_not_taken(job, out):
    (out / "a").mkdir(parents=True)
    assert Namer(out).name(job("a.mp4")) != "a"


def test_the_results_of_uploads_that_were_moved_are_found_again(job, out, add_clip, tmp_path):
    moved = add_clip("a.mp4")
    own(out, job("a.mp4", tmp_path / "earlier" / "a.mp4"), "a", moved.stat().st_size)
    assert Namer(out).name(job("a.mp4")) == "a"


def test_another_clip_of_a_name_that_was_used_before_does_not_take_its_folder(
    job, out, add_clip, tmp_path
):
    add_clip("a.mp4")
    own(out, job("a.mp4", tmp_path / "earlier" / "a.mp4"), "a", 17)
    assert Namer(out).name(job("a.mp4")) != "a"


def test_the_second_clip_of_a_set_has_a_folder_beside_the_first_clips(job, out, uploads):
    namer = Namer(out)
    pair = replace(job("a.mp4"), second=str(uploads / "b.mp4"))
    named = namer.named(pair)
    assert (named.folder, named.second_folder) == ("a", "a-second")
    assert namer.named(pair) == named
    assert namer.name(job("a-second.mp4")) != "a-second"
    assert namer.named(job("c.mp4")).second_folder == ""
