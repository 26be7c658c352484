"""A client may have all that is kept, and may have it gone without a trace."""

import csv
import io
import json
import os
import shutil
import zipfile
from datetime import timedelta

import numpy as np
import pytest
from typer.testing import CliRunner

from formcheck.cli.app import app
from formcheck.landmarks.cache import CLIP, FOLDER_VARIABLE, LandmarkCache, cache_key
from formcheck.landmarks.track import LANDMARK_COUNT, LandmarkTrack
from formcheck.records.answers import Answer, Ticked, add_answer, answers_of, clear, tick
from formcheck.records.clients import add_client, list_clients
from formcheck.records.notes import Note, add_note, overrule
from formcheck.records.recording import record_folder
from formcheck.records.rights import export_client, files_of, forget_client, traces_of
from formcheck.records.sets import sets_of
from formcheck.records.store import backup_of, open_store
from tests.records.made import DAY, made_clip, made_result

ALIAS = "Quillback-Heron"
"""Like nothing else, so that every byte of it is this client's."""


def track():
    count = 2
    return LandmarkTrack(
        time_s=np.arange(count) / 30.0,
        image_px=np.zeros((count, LANDMARK_COUNT, 3), np.float32),
        world_m=np.zeros((count, LANDMARK_COUNT, 3), np.float32),
        visibility=np.ones((count, LANDMARK_COUNT), np.float32),
        width=4,
        height=4,
        model="full",
        model_sha256=made_clip("full"),
    )


@pytest.fixture
def kept(tmp_path, monkeypatch):
    """A record of two clients with something in every table, results, landmarks and a backup."""
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "cache"))
    with open_store(tmp_path / "records.sqlite", create=True) as store:
        for alias in (ALIAS, "wren"):
            add_client(store, alias)
            for name in ("one", "two"):
                folder = tmp_path / "results" / f"{alias} {name}"
                folder.mkdir(parents=True)
                result = made_result(f"{alias} {name}", client=alias, made_on=DAY.isoformat())
                (folder / "result.json").write_text(json.dumps(result), "utf-8")
                (folder / "sheet.html").write_text(f"for {alias}", "utf-8")
                (folder / "still.jpg").write_bytes(b"a picture")
            list(record_folder(store, tmp_path / "results"))
            add_answer(
                store, alias, Answer(DAY, words=f"I am {alias}.", red_flags={"unwell": True})
            )
            clear(store, alias, through_day=DAY, by="coach", note=f"Spoke to {alias}.")
            tick(store, alias, Ticked("belly-press", "left", DAY, 2))
            first, _ = sets_of(store, alias)
            add_note(store, alias, Note(DAY, "coach", f"{alias} sleeps well.", first.id))
            overrule(
                store,
                alias,
                first.id,
                rep=1,
                check_id="raise-height",
                side="right",
                verdict="outside",
                by="coach",
                words=f"{alias} leans.",
            )
        shutil.copy(store.path, backup_of(store.path, 1))
        yield store


def entry(clip, *, says=True, **settings):
    """A cached landmark file of a clip; ``says`` whether it tells of which clip it is."""
    key = cache_key(made_clip(clip), made_clip("full"), settings)
    LandmarkCache().put(key, track(), {CLIP: made_clip(clip)} if says else {})
    return LandmarkCache().folder / f"{key}.npz"


def test_everything_is_exported_so_that_people_can_read_it(kept, tmp_path):
    export_client(kept, ALIAS, tmp_path / "out.zip")
    with zipfile.ZipFile(tmp_path / "out.zip") as archive:
        names = set(archive.namelist())
        said = json.loads(archive.read("record/answer.json"))
        sets, told = (
            list(csv.DictReader(io.StringIO(archive.read(name).decode())))
            for name in ("sets.csv", "answers.csv")
        )
        text = b"".join(archive.read(name) for name in names)
    assert [one["words"] for one in said] == [f"I am {ALIAS}."]
    assert [(one["day"], one["answered_yes"]) for one in told] == [(DAY.isoformat(), "unwell")]
    assert [one["exercise"] for one in sets] == ["scaption-raise"] * 2
    assert {"READ ME.txt", "measured.csv", "record/note.json", "record/overrule.json"} <= names
    assert sum(name.startswith("sheets/") for name in names) == 6
    assert sum(name.startswith("results/") for name in names) == 2
    assert b"wren" not in text


def test_what_would_go_is_listed_first(kept):
    traces = traces_of(kept, ALIAS)
    assert traces.rows["recorded_set"] == 2
    assert {"answer", "ticked", "note", "overrule", "clearance", "red_flag"} <= set(traces.rows)
    assert {folder.name for folder in traces.folders} == {f"{ALIAS} one", f"{ALIAS} two"}
    assert len(traces.backups) == 1


def test_forgetting_leaves_no_byte_of_the_alias_on_the_disk(kept, tmp_path):
    assert any(holds(path) for path in everything(tmp_path))
    assert forget_client(kept, ALIAS) == []
    assert [path for path in everything(tmp_path) if holds(path)] == []
    assert [client.alias for client in list_clients(kept)] == ["wren"]
    assert len(sets_of(kept, "wren")) == 2
    assert len(answers_of(kept, "wren")) == 1
    assert (tmp_path / "results" / "wren one" / "sheet.html").exists()
    kept.check_integrity()


def everything(tmp_path):
    return [path for path in tmp_path.rglob("*") if path.is_file()]


def holds(path):
    return ALIAS.lower().encode() in path.read_bytes().lower() or ALIAS in str(path)


def test_the_search_finds_an_alias_that_somebody_else_wrote_down(kept):
    add_note(kept, "wren", Note(DAY, "coach", f"Comes together with {ALIAS}."))
    assert forget_client(kept, ALIAS) == [kept.path]


def test_that_somebody_was_forgotten_stays_known_and_not_who(kept):
    forget_client(kept, ALIAS)
    lines = [tuple(row) for row in kept.rows("SELECT client_id, change, subject FROM audit")]
    assert lines[-1] == (None, "forgotten", "client")
    assert {line[0] for line in lines} == {None, 2}


def test_cached_landmarks_go_by_the_clip_that_they_are_of(kept):
    mine = entry(f"{ALIAS} one", rate_hz=30.0)
    other = entry("wren one", rate_hz=30.0)
    forget_client(kept, ALIAS)
    assert not mine.exists()
    assert other.exists()


def test_cached_landmarks_that_do_not_say_go_by_how_the_clip_was_looked_at(kept):
    mine = entry(f"{ALIAS} one", says=False)  # a result of these tests tells no such settings
    other = entry("wren one", says=False)
    forget_client(kept, ALIAS)
    assert not mine.exists()
    assert other.exists()


def test_a_folder_that_holds_another_result_by_now_is_left_alone(kept, tmp_path):
    taken = tmp_path / "results" / f"{ALIAS} one"
    (taken / "result.json").write_text(json.dumps(made_result("something else")), "utf-8")
    forget_client(kept, ALIAS)
    assert taken.exists()
    assert not (tmp_path / "results" / f"{ALIAS} two").exists()


def test_old_landmarks_are_dropped_by_their_age(kept):
    old, new = entry("wren one", rate_hz=30.0), entry("wren two", rate_hz=30.0)
    month_ago = new.stat().st_mtime - timedelta(days=31).total_seconds()
    os.utime(old, (month_ago, month_ago))
    assert LandmarkCache().drop_older(timedelta(days=30)) == 1
    assert (old.exists(), new.exists()) == (False, True)


def run(*arguments):
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


def test_nothing_goes_unless_the_alias_is_given_again(kept):
    done = run("client", "forget", ALIAS, "--records", kept.path)
    assert "nothing was removed" in str(done.exception)
    done = run("client", "forget", ALIAS, "--confirm", "wren", "--records", kept.path)
    assert "nothing was removed" in str(done.exception)
    assert len(sets_of(kept, ALIAS)) == 2


def test_the_command_lists_removes_and_says_what_it_found(kept):
    kept.close()
    done = run("client", "forget", ALIAS, "--confirm", ALIAS, "--records", kept.path)
    assert done.exit_code == 0
    assert "2 in recorded_set" in done.output
    assert "nowhere in what is left of the record" in done.output
    assert "look for them yourself" in done.output
    assert not any(holds(path) for path in files_of(kept.path))
