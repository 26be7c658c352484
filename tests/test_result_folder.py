"""Each clip's result has a folder of its own, whatever clips are called."""

import json

import pytest

from formcheck.result_folder import result_folder

A, B = "a" * 64, "b" * 64


@pytest.fixture
def put(tmp_path):
    def put(name, clip):
        (tmp_path / name).mkdir()
        result = {"schema": 1, "clip": {"sha256": clip}, "provenance": {}}
        (tmp_path / name / "result.json").write_text(json.dumps(result))

    return put


def test_the_first_clip_of_a_name_gets_it(tmp_path):
    assert result_folder(tmp_path, "set", A) == tmp_path / "set"


def test_another_clip_of_that_name_gets_a_short_code(tmp_path, put):
    put("set", A)
    assert result_folder(tmp_path, "set", B) == tmp_path / "set-bbbbbbbb"
    assert result_folder(tmp_path, "set", A) == tmp_path / "set"


def test_a_clip_keeps_its_folder_when_the_plain_name_becomes_free(tmp_path, put):
    put("set-bbbbbbbb", B)
    assert result_folder(tmp_path, "set", B) == tmp_path / "set-bbbbbbbb"


@pytest.mark.parametrize("entry", ["photo.jpg", "result.json"])
def test_a_folder_that_formcheck_did_not_make_is_left_alone(tmp_path, entry):
    (tmp_path / "set").mkdir()
    (tmp_path / "set" / entry).touch()
    assert result_folder(tmp_path, "set", A) == tmp_path / "set-aaaaaaaa"


def test_a_file_in_the_way_is_left_alone(tmp_path):
    (tmp_path / "set").touch()
    assert result_folder(tmp_path, "set", A) == tmp_path / "set-aaaaaaaa"
