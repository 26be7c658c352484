"""The commands of the record: a coach's first weeks, from a clip's result to the pages."""

import json
import stat

import pytest
from typer.testing import CliRunner

from formcheck.cli.app import app
from formcheck.records.store import PLACE_VARIABLE
from tests.records.made import made_result
from tests.records.weeks import PROGRAMME


def run(*arguments):
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


def ok(*arguments):
    done = run(*arguments)
    assert done.exit_code == 0, (done.output, done.exception)
    return done.output


@pytest.fixture
def place(tmp_path, monkeypatch):
    monkeypatch.setenv(PLACE_VARIABLE, str(tmp_path / "own" / "records.sqlite"))
    return tmp_path


def write_result(folder, name, **more):
    made = folder / name
    made.mkdir(parents=True)
    (made / "result.json").write_text(json.dumps(made_result(name, **more)), "utf-8")


def test_nothing_makes_a_record_but_adding_a_client(place):
    for command in (("client", "list"), ("record", place), ("ready", "heron")):
        done = run(*command)
        assert "no record of clients" in str(done.exception)
    assert not (place / "own").exists()
    ok("client", "add", "heron")
    assert stat.S_IMODE((place / "own" / "records.sqlite").stat().st_mode) == 0o600


def test_a_programme_in_phases_is_validated_and_what_is_unusual_in_it_is_noted(place):
    ok("client", "add", "heron")
    (place / "heron.toml").write_text(PROGRAMME, "utf-8")
    told = ok("exercises", "validate", place / "heron.toml")
    assert "valid (programme of heron, 2 exercises in 2 phases)" in told
    late = PROGRAMME.replace("belly-press", "lift-off")
    (place / "late.toml").write_text(late, "utf-8")
    told = ok("client", "prescribe", "heron", place / "late.toml")
    assert "note: lift-off usually comes after" in told


def test_from_results_to_pages(place):
    ok("client", "add", "heron")
    (place / "heron.toml").write_text(PROGRAMME, "utf-8")
    ok("client", "prescribe", "heron", place / "heron.toml", "--from", "2026-01-05")
    for number in (1, 2):
        write_result(
            place / "results", f"r{number}", client="heron", made_on=f"2026-01-0{4 + number}"
        )
    assert "2 added" in ok("record", place / "results")
    assert "2 known" in ok("record", place / "results")
    shown = ok("client", "show", "heron")
    assert 'phase "positions"' in shown
    assert "set 1: scaption-raise right, 3" in shown
    ok("client", "note", "heron", "Sleeps well.", "--by", "coach", "--date", "2026-01-06")
    ok(
        *("client", "overrule", "heron", "1", "--rep", "2", "--check", "raise-height"),
        *("--side", "right", "--verdict", "outside", "--why", "It drops.", "--by", "coach"),
    )
    ok("client", "baseline", "heron", "1", "--by", "coach")
    assert "2 sets on 2 days, last on 2026-01-06" in ok("client", "list")
    ok("progress", "heron", "--until", "2026-01-11", "--no-pdf", "--out", place / "pages")
    coach = (place / "pages" / "heron-progress-coach.html").read_text("utf-8")
    assert "Sleeps well." in coach
    assert "It drops." in coach
    assert (place / "pages" / "heron-progress.html").exists()
    assert stat.S_IMODE((place / "pages" / "heron-progress.html").stat().st_mode) == 0o600


def test_ready_proposes_and_the_signature_moves(place):
    ok("client", "add", "heron")
    assert "has no programme" in ok("ready", "heron", "--until", "2026-01-05")
    (place / "heron.toml").write_text(PROGRAMME, "utf-8")
    ok("client", "prescribe", "heron", place / "heron.toml", "--from", "2026-01-05")
    told = ok("ready", "heron", "--until", "2026-01-06")
    assert "not met: days on which something was done: 0, asked for 6" in told
    assert "no clearance" in told
    signed = ("--phase", "loaded", "--by", "coach", "--note", "On.", "--from", "2026-01-06")
    refused = run("client", "sign", "heron", *signed)
    assert "not met: days on which something was done: 0, asked for 6" in refused.output
    assert "to sign in spite of it, add --although-not-met" in str(refused.exception)
    told = ok("client", "sign", "heron", *signed, "--although-not-met")
    assert "although not all of it is met" in told
    assert 'in phase "loaded" since 6 January 2026' in ok("ready", "heron", "--until", "2026-01-07")


def test_what_was_left_out_is_told_and_shows_in_the_exit_code(place):
    ok("client", "add", "heron")
    write_result(place / "results", "r1", client="heron", made_on="2026-01-05")
    write_result(place / "results", "r2")
    done = run("record", place / "results")
    assert done.exit_code == 3
    assert "its client is not known; give it with --client" in done.output
    assert "1 added, 1 left out" in done.output
    assert "1 added, 1 known" in ok(
        *("record", place / "results", "--client", "heron", "--date", "2026-01-05")
    )


def test_the_doctor_looks_at_the_record(place):
    assert "record of clients: none yet" in run("doctor").output
    ok("client", "add", "heron")
    assert "record of clients: 1 clients in" in run("doctor").output
    (place / "own" / "records.sqlite").write_bytes(b"nothing of the kind" * 300)
    done = run("doctor")
    assert "FAIL  record of clients" in done.output
    assert done.exit_code == 2
