import json
import os
import stat

import pytest

from formcheck.atomic_output import prepare_folder, whole_file, whole_folder, whole_table
from formcheck.errors import OutputError


def names(folder):
    return sorted(entry.name for entry in folder.iterdir())


def write_result(target, text="first", clip=None, share=False):
    ours = {"schema": 1, "clip": {"sha256": clip}, "provenance": {}}
    with whole_folder(target, clip, share=share) as folder:
        (folder / "result.json").write_text(json.dumps(ours))
        (folder / "sheet.html").write_text(text)


def test_a_result_appears_whole_under_its_name(tmp_path):
    target = tmp_path / "new" / "raise"
    write_result(target)
    assert names(target) == ["result.json", "sheet.html"]
    assert names(target.parent) == ["raise"]


def test_nothing_is_left_when_writing_fails_halfway(tmp_path):
    with pytest.raises(OutputError), whole_folder(tmp_path / "raise") as folder:
        (folder / "result.json").write_text((folder / "missing").read_text())
    assert names(tmp_path) == []


def test_an_earlier_result_stays_as_it_was_when_writing_fails(tmp_path):
    target = tmp_path / "raise"
    write_result(target)
    with pytest.raises(ZeroDivisionError), whole_folder(target):
        raise ZeroDivisionError
    assert (target / "sheet.html").read_text() == "first"
    assert names(tmp_path) == ["raise"]


def test_a_result_that_lost_its_marker_is_still_ours(tmp_path):
    target = tmp_path / "raise"
    write_result(target)
    (target / "result.json").unlink()
    write_result(target, "second")
    assert names(target) == ["result.json", "sheet.html"]


def test_an_earlier_result_is_replaced_and_its_leftovers_go(tmp_path):
    target = tmp_path / "raise"
    write_result(target)
    (target / "annotated.mp4").write_bytes(b"old clip")
    write_result(target, "second")
    assert (target / "sheet.html").read_text() == "second"
    assert names(target) == ["result.json", "sheet.html"]
    assert names(tmp_path) == ["raise"]


def test_what_somebody_put_beside_a_result_is_kept(tmp_path):
    target = tmp_path / "raise"
    write_result(target)
    (target / "notes.txt").write_text("my own")
    (target / "more").mkdir()
    (target / "more" / "page.txt").write_text("deeper")
    write_result(target, "second")
    assert (target / "notes.txt").read_text() == "my own"
    assert (target / "more" / "page.txt").read_text() == "deeper"


def test_a_folder_that_is_not_ours_is_never_touched(tmp_path):
    target = tmp_path / "holiday"
    target.mkdir()
    (target / "photo.jpg").write_bytes(b"dear")
    with pytest.raises(OutputError, match="not a result that formcheck made"):
        write_result(target)
    assert names(target) == ["photo.jpg"]


def test_an_empty_folder_may_be_used(tmp_path):
    target = tmp_path / "empty"
    target.mkdir()
    write_result(target)
    assert names(target) == ["result.json", "sheet.html"]


def test_a_file_in_the_way_is_one_clear_line(tmp_path):
    target = tmp_path / "raise"
    target.write_text("a file")
    with pytest.raises(OutputError) as caught:
        write_result(target)
    assert "\n" not in str(caught.value)
    assert target.read_text() == "a file"


def test_a_place_that_cannot_be_a_folder_is_one_clear_line(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(OutputError, match="cannot be written") as caught:
        prepare_folder(tmp_path / "file" / "below")
    assert "\n" not in str(caught.value)
    assert caught.value.exit_code == 2


def mode(path):
    return stat.S_IMODE(os.stat(path).st_mode)


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_what_is_new_is_for_the_user_alone_unless_it_is_shared(tmp_path):
    write_result(tmp_path / "own" / "raise")
    assert [mode(tmp_path / "own"), mode(tmp_path / "own" / "raise")] == [0o700, 0o700]
    assert mode(tmp_path / "own" / "raise" / "sheet.html") == 0o600
    (tmp_path / "usual").mkdir()
    (tmp_path / "usual" / "file").touch()
    write_result(tmp_path / "shared", share=True)
    assert mode(tmp_path / "shared") == mode(tmp_path / "usual")
    assert mode(tmp_path / "shared" / "sheet.html") == mode(tmp_path / "usual" / "file")
    with whole_file(tmp_path / "list.csv") as fresh:
        fresh.touch()
    assert mode(tmp_path / "list.csv") == 0o600


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_what_is_replaced_keeps_its_permissions(tmp_path):
    target = tmp_path / "raise"
    write_result(target)
    (target / "notes.txt").touch(mode=0o640)
    target.chmod(0o750)
    write_result(target, "second")
    assert [mode(target), mode(target / "sheet.html")] == [0o750, 0o640]
    assert mode(target / "notes.txt") == 0o640


def test_a_result_never_takes_the_place_of_another_clips(tmp_path):
    target = tmp_path / "raise"
    write_result(target, clip="a")
    with pytest.raises(OutputError, match="result of another clip"):
        write_result(target, "second", clip="b")
    assert (target / "sheet.html").read_text() == "first"
    write_result(target, "second", clip="a")
    assert (target / "sheet.html").read_text() == "second"


def test_not_even_where_the_other_came_meanwhile(tmp_path):
    target = tmp_path / "raise"
    with pytest.raises(OutputError, match="another clip"), whole_folder(target, "b"):
        write_result(target, clip="a")
    assert (target / "sheet.html").read_text() == "first"
    assert names(tmp_path) == ["raise"]


def test_a_table_takes_the_place_of_an_earlier_table_once_it_is_whole(tmp_path):
    target = tmp_path / "set.csv"
    for text in ("time_s,a\n1,2\n", "time_s,a\n3,4\n"):
        with whole_table(target) as file:
            file.write_text(text)
    assert target.read_text() == "time_s,a\n3,4\n"
    with pytest.raises(OutputError), whole_table(target) as file:
        file.write_text((tmp_path / "missing").read_text())
    assert target.read_text() == "time_s,a\n3,4\n"
    assert names(tmp_path) == ["set.csv"]


@pytest.mark.parametrize("name", ["clip.mp4", "folder.csv", "clients.csv", "no-suffix"])
def test_a_table_is_never_put_where_something_else_lies(tmp_path, name):
    target = tmp_path / name
    if name == "folder.csv":
        target.mkdir()
    else:
        target.write_text("name,born\n")
    with pytest.raises(OutputError, match=name), whole_table(target):
        pytest.fail("begun")
    assert target.is_dir() or target.read_text() == "name,born\n"


def test_a_file_takes_the_place_of_an_earlier_one_once_it_is_whole(tmp_path):
    target = tmp_path / "page.html"
    for text in ("first", "second"):
        with whole_file(target, durable=True) as fresh:
            fresh.write_text(text)
            assert not target.exists() or target.read_text() == "first"
        assert target.read_text() == text
    with pytest.raises(FileNotFoundError), whole_file(target) as fresh:
        fresh.write_text((tmp_path / "missing").read_text())
    assert target.read_text() == "second"
    assert names(tmp_path) == ["page.html"]
