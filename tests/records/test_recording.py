"""Result folders go into the record once, whole, and under the client and day that they say."""

import json
import random
import signal
import subprocess
import sys
import time
from datetime import date

import pytest

from formcheck.errors import RecordsError
from formcheck.records.clients import add_client
from formcheck.records.recording import record_folder
from formcheck.records.sets import Recorded, sets_of
from formcheck.records.store import open_store
from tests.records.made import DAY, made_result


def written(folder, name, **more):
    made = folder / name
    made.mkdir(parents=True)
    result = made_result(name, **{"client": "heron", "made_on": "2026-03-02"} | more)
    (made / "result.json").write_text(json.dumps(result), "utf-8")
    return made


def test_all_results_of_a_folder_are_recorded_once(store, tmp_path):
    for name in ("one", "two"):
        written(tmp_path / "results", name)
    done = [one.done for one in record_folder(store, tmp_path / "results")]
    assert done == [Recorded.ADDED, Recorded.ADDED]
    done = [one.done for one in record_folder(store, tmp_path / "results")]
    assert done == [Recorded.KNOWN, Recorded.KNOWN]
    assert [one.day for one in sets_of(store, "heron")] == [DAY, DAY]


def test_client_and_day_may_be_given_for_results_that_do_not_say(store, tmp_path):
    made = written(tmp_path, "one", client="", made_on="")
    (left,) = record_folder(store, made)
    assert left.done is None
    assert left.why == (
        "its client is not known; give it to formcheck record with --client, or to a batch in the "
        "clip's name or a manifest"
    )
    (done,) = record_folder(store, made, alias="heron", day=DAY)
    assert done.done == Recorded.ADDED


def test_a_batch_says_whose_an_older_result_is(store, tmp_path):
    made = written(tmp_path, "one", client="", made_on="")
    outcome = {"outcome": {"client": "heron", "made_on": "2026-02-01"}}
    (made / "batch.json").write_text(json.dumps(outcome), "utf-8")
    (done,) = record_folder(store, made)
    assert done.done == Recorded.ADDED
    assert sets_of(store, "heron")[0].day == date(2026, 2, 1)


def test_a_result_of_somebody_else_is_left_out(store, tmp_path):
    add_client(store, "wren")
    (left,) = record_folder(store, written(tmp_path, "one"), alias="wren")
    assert left.why == 'its client is "heron", not "wren"'
    assert sets_of(store, "wren") == []


@pytest.mark.parametrize("text", ["", "{", "[]", '{"schema": 2}', "[" * 100_000])
def test_what_is_no_result_is_left_out_and_stops_nothing(store, tmp_path, text):
    written(tmp_path / "results", "two")
    odd = tmp_path / "results" / "odd"
    odd.mkdir()
    (odd / "result.json").write_text(text, "utf-8")
    left, done = sorted(
        record_folder(store, tmp_path / "results"), key=lambda one: one.done is not None
    )
    assert "is not a result" in left.why
    assert done.done == Recorded.ADDED


def test_a_folder_without_results_is_told(store, tmp_path):
    with pytest.raises(RecordsError, match="holds no results"):
        list(record_folder(store, tmp_path / "nowhere"))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_a_kill_loses_and_doubles_nothing(tmp_path, seed):
    """The benchmarks do this a hundred times (tests/benchmarks/kills_record.py)."""
    results, place = tmp_path / "results", tmp_path / "records.sqlite"
    for number in range(60):
        written(results, f"clip-{number}")
    with open_store(place, create=True) as store:
        add_client(store, "heron")
    command = [sys.executable, "-m", "formcheck", "record", str(results), "--records", str(place)]
    run_and_kill(command, random.Random(seed).uniform(0.05, 0.6))
    with open_store(place) as store:
        store.check_integrity()
        before = [one.clip_sha256 for one in sets_of(store, "heron")]
        assert all(one.checks for one in sets_of(store, "heron"))
    assert subprocess.run(command, check=False, capture_output=True).returncode == 0
    with open_store(place) as store:
        after = [one.clip_sha256 for one in sets_of(store, "heron")]
    assert after[: len(before)] == before
    assert len(after) == len(set(after)) == 60


def run_and_kill(command, after_s):
    running = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    time.sleep(after_s)
    running.send_signal(signal.SIGKILL)
    running.wait()
