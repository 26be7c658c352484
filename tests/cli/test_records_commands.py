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


def test_a_programme_that_is_recorded_already_is_said_to_be_so_with_its_day(place):
    ok("client", "add", "heron")
    (place / "heron.toml").write_text(PROGRAMME, "utf-8")
    prescribe = ("client", "prescribe", "heron", place / "heron.toml", "--from")
    held = "version 1 of the programme of heron, in force from 2026-01-05"
    assert ok(*prescribe, "2026-01-05").splitlines()[0] == held
    again = ok(*prescribe, "2026-02-05").splitlines()[0]
    assert again == f"{held}: recorded before, nothing was changed"


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
    told = ok("client", "note", "heron", "Sleeps well.", "--by", "coach", "--date", "2026-01-06")
    assert told == "heron, 2026-01-06: note of coach written down\n"
    told = ok(
        *("client", "overrule", "heron", "1", "--rep", "2", "--check", "raise-height"),
        *("--side", "right", "--verdict", "outside", "--why", "It drops.", "--by", "coach"),
    )
    assert told == (
        "set 1, repetition 2, raise-height right: measured within, now outside by coach\n"
    )
    told = ok("client", "baseline", "heron", "1", "--by", "coach")
    assert told == "heron: set 1, scaption-raise right of 2026-01-05, is signed as good by coach\n"
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
    back = ok("client", "unsign", "heron", "--by", "coach", "--note", "Too soon.")
    assert 'heron is in phase "positions" since 2026-01-05' in back
    assert 'in phase "positions"' in ok("ready", "heron", "--until", "2026-01-07")
    shown = ok("client", "show", "heron")
    assert '2026-01-06  signature for "loaded" taken back by coach: Too soon.' in shown


def test_show_lists_everything_by_day(place):
    ok("client", "add", "heron")
    assert ok("client", "show", "heron") == "nothing is recorded yet\n"
    (place / "heron.toml").write_text(f"stature_cm = 164\n{PROGRAMME}", "utf-8")
    ok("client", "prescribe", "heron", place / "heron.toml", "--from", "2026-01-05")
    write_result(place / "results", "r1", client="heron", made_on="2026-01-06")
    ok("record", place / "results", "--load", "1 kg")
    by, overruled = ("--by", "coach"), ("--rep", "2", "--check", "raise-height", "--side", "right")
    ok("client", "overrule", "heron", "1", *overruled, "--verdict", "outside", "--why", "Low.", *by)
    ok("client", "baseline", "heron", "1", *by)
    ok("client", "note", "heron", "Tired.", "--set", "1", "--date", "2026-01-06", *by)
    ok("answer", "heron", "--date", "2026-01-07", "--pain-during", "6", "--flag", "trauma")
    ok("client", "clear", "heron", "--note", "Seen.", "--through", "2026-01-08", *by)
    assert ok("client", "show", "heron").splitlines() == [
        '2026-01-05  programme 1, phase "positions"',
        "            height 164 cm",
        "            goes on with pain of at most 5",
        "            arm height never above 120°",
        "2026-01-06  note on set 1 by coach: Tired.",
        "2026-01-06  set 1 at 10 s: raise-height right measured within, outside by coach: Low.",
        "2026-01-06  set 1: scaption-raise right, 3, 1 kg, signed as good by coach",
        "2026-01-07  said: pain during 6, yes to trauma",
        "2026-01-08  cleared through this day by coach: Seen.",
    ]


def test_what_was_left_out_is_told_and_shows_in_the_exit_code(place):
    ok("client", "add", "heron")
    write_result(place / "results", "r1", client="heron", made_on="2026-01-05")
    write_result(place / "results", "r2")
    done = run("record", place / "results")
    assert done.exit_code == 3
    assert "its client is not known; give it to formcheck record with --client" in done.output
    assert "1 added, 1 left out" in done.output
    assert "1 added, 1 known" in ok(
        *("record", place / "results", "--client", "heron", "--date", "2026-01-05")
    )


def test_a_clip_that_moves_to_another_day_is_named_with_both(place):
    ok("client", "add", "heron")
    write_result(place / "results", "r1", client="heron")
    ok("record", place / "results", "--date", "2026-01-05")
    told = ok("record", place / "results", "--date", "2026-01-08")
    assert "r1: It was recorded for 2026-01-05 and is recorded for 2026-01-08 now." in told
    assert "1 replaced" in told


def test_days_that_have_not_come_are_refused(place):
    ok("client", "add", "heron")
    (place / "heron.toml").write_text(PROGRAMME, "utf-8")
    ok("client", "prescribe", "heron", place / "heron.toml", "--from", "2026-01-05")
    write_result(place / "results", "r1", client="heron")
    by = ("--by", "coach")
    signed = ("--phase", "positions", "--note", "x", "--from", "2999-01-01")
    for command in (
        ("client", "note", "heron", "x", *by, "--date", "2999-01-01"),
        ("client", "sign", "heron", *by, *signed),
        ("answer", "heron", "--effort", "3", "--date", "2999-01-01"),
    ):
        assert "2999-01-01 has not come yet" in str(run(*command).exception)
    assert "has not come yet" in run("record", place / "results", "--date", "2999-01-01").output


def test_a_check_that_is_of_both_sides_is_asked_for_by_side(place):
    ok("client", "add", "heron")
    write_result(place / "results", "r1", client="heron", made_on="2026-01-05")
    ok("record", place / "results")
    done = run(
        *("client", "overrule", "heron", "1", "--rep", "2", "--check", "raise-height"),
        *("--verdict", "outside", "--why", "It drops.", "--by", "coach"),
    )
    assert str(done.exception) == (
        "repetition 2: check raise-height is of right; give --side right"
    )


def test_an_alias_that_reads_like_a_name_is_pointed_out(place):
    assert "looks like a first and a last name" in ok("client", "add", "Red Kite")
    for alias in ("heron", "Heron 2", "green kite", "Kite"):
        assert "looks like" not in ok("client", "add", alias)


def test_what_would_be_forgotten_is_listed_and_how_to_confirm_it_said(place):
    ok("client", "add", "heron")
    done = run("client", "forget", "heron")
    assert done.output.startswith("kept of heron, and would be removed:\n1 in client\n")
    assert str(done.exception) == (
        "nothing was removed; to remove all of this, add --confirm heron"
    )


def test_the_doctor_looks_at_the_record(place):
    assert "record of clients: none yet" in run("doctor").output
    ok("client", "add", "heron")
    assert "record of clients: 1 client in" in run("doctor").output
    (place / "own" / "records.sqlite").write_bytes(b"nothing of the kind" * 300)
    done = run("doctor")
    assert "FAIL  record of clients" in done.output
    assert done.exit_code == 2
