"""What a run that was killed at any step leaves behind is put right by the next."""

import os
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest

from formcheck import scratch
from formcheck.atomic_output import refusal
from formcheck.errors import OutputError
from formcheck.result_folder import recover_results
from formcheck.scratch import MARKER, recover, scratch_folder, typesetting_folder

WORKING = """
import os, sys, pathlib
from formcheck.scratch import scratch_folder
with scratch_folder(pathlib.Path(sys.argv[1])) as folder:
    (folder / "half.json").write_text("{}")
    print(folder.name, flush=True)
    sys.stdin.read()
    os._exit(9)
"""


def names(folder):
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*"))


def left(place, *files):
    """A folder as a killed run leaves it."""
    folder = place / ".formcheck-ab_d3f2h"
    for name in (MARKER, *files):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text("{}")


@pytest.mark.parametrize("parent", [True, False], ids=["beside its place", "temporary"])
def test_it_is_gone_after_the_block_even_if_that_fails(tmp_path, monkeypatch, parent):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    with suppress(ZeroDivisionError), scratch_folder(tmp_path if parent else None) as folder:
        assert folder.parent == tmp_path
        assert folder.name.startswith(".formcheck-" if parent else "formcheck-")
        (folder / "deep").mkdir()
        raise ZeroDivisionError
    assert names(tmp_path) == []


def test_a_full_disk_leaves_nothing(tmp_path, monkeypatch):
    def full(handle, data):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("formcheck.scratch.os.write", full)
    with pytest.raises(OSError, match="No space"), scratch_folder(tmp_path):
        pytest.fail("begun")
    monkeypatch.undo()
    assert names(tmp_path) == []


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_nobody_else_may_look_into_it(tmp_path):
    with scratch_folder(tmp_path) as folder:
        assert folder.stat().st_mode & 0o077 == 0


@pytest.mark.slow
def test_what_somebody_works_in_stays_until_they_are_gone(tmp_path):
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[1])}
    command = [sys.executable, "-c", WORKING, str(tmp_path)]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    with subprocess.Popen(command, env=environment, **pipes) as process:
        name = process.stdout.readline().strip()
        assert recover(tmp_path) == []
        assert (tmp_path / name / "half.json").exists()
        process.communicate()
    (found,) = recover(tmp_path)
    assert "half-written by a run that was killed; removed" in found
    assert names(tmp_path) == []


def test_what_this_process_works_in_stays_until_it_is_told_to_end(tmp_path):
    with scratch_folder(tmp_path) as folder:
        with scratch_folder(tmp_path):
            assert folder.exists()
        scratch.end_all()
        assert names(tmp_path) == []


def test_who_writes_next_removes_what_is_half_written(tmp_path):
    left(tmp_path, "fresh/result.json", "fresh/sheets/sheet.html")
    with scratch_folder(tmp_path):
        assert not (tmp_path / ".formcheck-ab_d3f2h").exists()


def test_an_earlier_result_that_was_just_being_replaced_comes_back(tmp_path):
    left(tmp_path, "earlier/set/result.json", "earlier/set/notes.txt")
    assert recover(tmp_path) == [f"{tmp_path / 'set'}: an earlier result; brought back"]
    assert names(tmp_path) == ["set", "set/notes.txt", "set/result.json"]


def test_an_earlier_result_that_has_been_replaced_goes(tmp_path):
    left(tmp_path, "earlier/set/result.json")
    (tmp_path / "set").mkdir()
    recover(tmp_path)
    assert names(tmp_path) == ["set"]


def test_a_folder_that_was_made_and_no_more_goes(tmp_path):
    (tmp_path / ".formcheck-abcdefgh").mkdir()
    recover(tmp_path)
    assert names(tmp_path) == []


def test_what_is_not_ours_stays(tmp_path):
    for name in (".git/config", ".formcheck-abcdefgh/photo.jpg", ".set.abcdefgh/in-work.txt"):
        (tmp_path / name).parent.mkdir()
        (tmp_path / name).touch()
    (tmp_path / ".formcheck-aaaaaaaa").symlink_to(tmp_path / ".git")
    before = names(tmp_path)
    assert recover(tmp_path) == []
    assert names(tmp_path) == before


def test_results_and_what_a_batch_set_aside_and_temporary_files_are_put_right(
    tmp_path, monkeypatch
):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "temporary"))
    out = tmp_path / "results"
    for place in (out, out / "set-aside", tmp_path / "temporary"):
        left(place, "still-0.jpg")
    assert len(recover_results(out)) == 3
    assert names(tmp_path) == ["results", "results/set-aside", "temporary"]
    assert recover_results(tmp_path / "nowhere") == []


def test_a_full_folder_for_temporary_files_is_named_and_what_to_do(tmp_path, monkeypatch):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    with pytest.raises(OutputError, match="TMPDIR") as refused, typesetting_folder():
        raise OSError(28, "No space left on device")
    assert str(refused.value).startswith(f"{tmp_path}, the folder for temporary files,")
    assert names(tmp_path) == []


def test_a_refusal_names_the_place_that_people_know(tmp_path):
    inner = tmp_path / "results" / ".formcheck-ab_d3f2h" / "fresh" / "sheets"
    told = str(refusal(inner, OSError(28, "No space left on device")))
    assert told.startswith(f"{tmp_path / 'results'} cannot be written: No space left on device.")
