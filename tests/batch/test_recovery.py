"""What a run that was killed at any step leaves behind is put right by the next."""

import pytest

from formcheck.batch.locks import FolderLocks
from formcheck.batch.recovery import recover


@pytest.fixture
def put_right_in(out):
    def tidy():
        with FolderLocks(out) as locks:
            recover(out, locks)
        return sorted(path.relative_to(out).as_posix() for path in out.rglob("*") if path.is_file())

    return tidy


def make(out, *names):
    for name in names:
        path = out / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("{}")


CLAIMS = ".formcheck-batch/locks"


def test_half_written_folders_go(out, put_right_in):
    make(out, ".set.ab_d3f2h/batch.json", ".set.ab_d3f2h/sheets/result.json")
    assert put_right_in() == [CLAIMS]
    assert not (out / ".set.ab_d3f2h").exists()


def test_an_earlier_result_that_was_just_being_replaced_comes_back(out, put_right_in):
    make(out, ".set.abcd1234/earlier/result.json", ".set.abcd1234/earlier/notes.txt")
    assert put_right_in() == [CLAIMS, "set/notes.txt", "set/result.json"]


def test_an_earlier_result_that_has_been_replaced_goes(out, put_right_in):
    make(out, ".set.abcd1234/earlier/result.json", "set/result.json")
    assert put_right_in() == [CLAIMS, "set/result.json"]


def test_what_a_batch_did_not_make_stays(out, put_right_in):
    make(out, ".git/config", ".my.holidays/photo.jpg", "set/batch.json", "other.txt")
    assert put_right_in() == [
        CLAIMS, ".git/config", ".my.holidays/photo.jpg", "other.txt", "set/batch.json",
    ]  # fmt: skip
