"""What was prescribed stays known, with the day from which it held."""

from datetime import timedelta

import pytest

from formcheck.errors import RecordsError
from formcheck.records.clients import add_client
from formcheck.records.programmes import prescribe, programmes_of
from tests.records.made import DAY

TEXT = """
client = "heron"
phase = "first weeks"
[[items]]
exercise = "belly-press"
side = "left"
dose = {{ count = {count}, sets = 3 }}
"""


def written(folder, count=4):
    path = folder / "heron.toml"
    path.write_text(TEXT.format(count=count), "utf-8")
    return path


def test_a_programme_is_kept_with_what_it_came_to(store, tmp_path):
    assert prescribe(store, "heron", written(tmp_path), from_day=DAY) == 1
    (tmp_path / "heron.toml").unlink()
    (one,) = programmes_of(store, "heron")
    assert (one.from_day, one.file_name) == (DAY, "heron.toml")
    assert one.programme.prescriptions[0].exercise.dose.count == 4


def test_a_changed_programme_is_a_new_version_and_the_same_is_not(store, tmp_path):
    prescribe(store, "heron", written(tmp_path), from_day=DAY)
    later = DAY + timedelta(days=14)
    assert prescribe(store, "heron", written(tmp_path), from_day=later) == 1
    assert prescribe(store, "heron", written(tmp_path, count=6), from_day=later) == 2
    assert [one.from_day for one in programmes_of(store, "heron")] == [DAY, later]


def test_a_version_does_not_start_before_the_one_that_it_follows(store, tmp_path):
    prescribe(store, "heron", written(tmp_path), from_day=DAY)
    with pytest.raises(RecordsError, match="cannot start earlier"):
        prescribe(store, "heron", written(tmp_path, 6), from_day=DAY - timedelta(days=1))


def test_a_programme_is_its_clients_only(store, tmp_path):
    add_client(store, "wren")
    with pytest.raises(RecordsError, match='programme of "heron"'):
        prescribe(store, "wren", written(tmp_path), from_day=DAY)
