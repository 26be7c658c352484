"""A batch records each result for its client as soon as it is there."""

import json
from dataclasses import replace
from datetime import date

import pytest

from formcheck.batch.job import Job, Outcome, outcome_of
from formcheck.batch.ledger import Outcomes, complete
from formcheck.batch.recorder import recording
from formcheck.batch.summary import as_csv, as_html
from formcheck.cli.batch_terminal import print_recorded
from formcheck.errors import RecordsError
from formcheck.records.clients import add_client
from formcheck.records.sets import sets_of
from formcheck.records.store import open_store
from tests.records.made import made_result


@pytest.fixture
def place(tmp_path):
    with open_store(tmp_path / "records.sqlite", create=True) as store:
        add_client(store, "heron")
    return tmp_path / "records.sqlite"


def outcome(folder, status="analysed"):
    said = dict.fromkeys(
        ("clip", "shown", "client", "exercise", "side", "made_on", "triage", "why"), ""
    )
    return Outcome(folder=folder, status=status, **said)


def write_result(out, name, **more):
    (out / name).mkdir(parents=True, exist_ok=True)
    (out / name / "result.json").write_text(json.dumps(made_result(name, **more)), "utf-8")


def recorded(place):
    with open_store(place) as store:
        return [(one.exercise, one.day) for one in sets_of(store, "heron")]


def test_each_result_is_recorded_when_its_outcome_comes(place, tmp_path):
    out, told = tmp_path / "results", []
    write_result(out, "one", client="heron", made_on="2026-03-02")
    with recording(place, out, lambda *seen: told.append(seen)) as (on_progress, found):
        on_progress("tally", None)
        assert recorded(place) == []
        on_progress("tally", outcome("one"))
        assert recorded(place) == [("scaption-raise", date(2026, 3, 2))]
    assert [one.done for one in found] == ["added"]
    assert [seen[0] for seen in told] == ["tally", "tally"]


def test_a_clip_that_moves_to_another_day_is_told_on_the_page_and_in_the_terminal(
    place, tmp_path, capsys
):
    out, job = tmp_path / "results", Job("/one.mp4", "one.mp4", client="heron", folder="one")
    for day in (date(2026, 3, 2), date(2026, 3, 9)):
        write_result(out, "one", client="heron", made_on=day.isoformat())
        done = outcome_of(replace(job, made_on=day), "analysed", "well", "Fine.")
        complete(out / "one", job, "key", done)
        with recording(place, out, lambda *seen: None) as (on_progress, found):
            on_progress("tally", done)
    told = "It was recorded for 2026-03-02 and is recorded for 2026-03-09 now."
    print_recorded(found)
    assert f"one: {told}" in capsys.readouterr().err
    assert told in as_html(Outcomes(out).read())
    assert "2026-03-02" in as_csv(Outcomes(out).read())


def test_what_has_no_result_or_no_client_stops_nothing(place, tmp_path):
    out = tmp_path / "results"
    write_result(out, "whose")
    with recording(place, out, lambda *seen: None) as (on_progress, found):
        on_progress("tally", outcome("gone", status="unreadable"))
        on_progress("tally", outcome("whose"))
    (left,) = found
    assert left.folder.name == "whose"
    assert "or to a batch in the clip's name or a manifest" in left.why


def test_without_a_record_nothing_is_recorded_and_none_is_made(tmp_path):
    with recording(None, tmp_path, lambda *seen: None) as (on_progress, found):
        on_progress("tally", outcome("one"))
    assert found == []
    with pytest.raises(RecordsError), recording(tmp_path / "none", tmp_path, lambda *seen: None):
        pass
    assert not (tmp_path / "none").exists()
