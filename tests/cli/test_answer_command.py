"""``formcheck answer``: what a client says goes into the record, and what must stop them is told."""

import json
from datetime import date
from importlib.resources import files

import pytest
from typer.testing import CliRunner

from formcheck.catalogue.red_flags import RedFlag
from formcheck.cli.app import app
from formcheck.records.answers import answers_of, clearances_of, open_answers
from formcheck.records.clients import add_client
from formcheck.records.store import open_store
from formcheck.words.words import words_for
from tests.sheets.packets import PROGRAMME


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FORMCHECK_RECORDS", str(tmp_path / "records.sqlite"))
    with open_store(create=True) as store:
        add_client(store, "Heron 2")
    return lambda *arguments: CliRunner().invoke(app, list(arguments))


def told(alias="Heron 2"):
    with open_store() as store:
        return answers_of(store, alias)


def test_the_guide_and_the_help_name_every_red_flag(run):
    guide = (files("formcheck.records") / "GUIDE.md").read_text("utf-8")
    for flag in RedFlag:
        assert f"| `{flag}` | {words_for('en')(f'red_flag.{flag}')} |" in guide
    told = " ".join(run("answer", "--help").output.split()).replace("- ", "-")
    assert [flag for flag in RedFlag if flag not in told] == []


def test_answers_are_recorded_once(run):
    said = ("answer", "heron 2", "--date", "2026-03-31", "--pain-during", "3", "--flag", "none")
    assert run(*said).exit_code == 0
    assert "was recorded before" in run(*said).output
    (one,) = told()
    assert (one.day, one.pain_during, one.flags_raised) == (date(2026, 3, 31), 3, ())
    assert len(one.red_flags) == 9


def test_the_file_of_the_form_is_recorded_for_its_client(run, tmp_path):
    said = {"formcheck": "answers", "client": "heron-2", "day": "2026-03-31", "effort": 7}
    (tmp_path / "a.json").write_text(json.dumps(said))
    done = run("answer", "a.json")
    assert done.exit_code == 0, done.output
    assert told()[0].effort == 7
    assert told()[0].source == "form"


def test_a_second_answer_of_a_day_is_kept_beside_the_first_and_said_to_be(run):
    assert (
        "answer 2" not in run("answer", "heron 2", "--date", "2026-03-31", "--effort", "3").output
    )
    second = run("answer", "heron 2", "--date", "2026-03-31", "--effort", "5").output
    assert "recorded as answer 2 of that day; all of them count" in second
    assert [one.effort for one in told()] == [3, 5]


def test_clearing_says_what_it_cleared_and_writes_nothing_where_nothing_is_open(run):
    cleared = ("client", "clear", "Heron 2", "--by", "coach", "--note", "spoken")
    assert "nothing is open" in run(*cleared).output
    with open_store() as store:
        assert clearances_of(store, "Heron 2") == []
    run("answer", "heron 2", "--date", "2026-03-31", "--flag", "trauma")
    assert "what was told on 2026-03-31 is cleared by coach" in run(*cleared).output
    assert "nothing is open" in run(*cleared).output


@pytest.mark.parametrize(
    "said", [("--flag", "trauma"), ("--pain-during", "6"), ("--pain-next-morning", "10")]
)
def test_what_must_stop_is_told_and_stays_open_until_it_is_cleared(run, said):
    done = run("answer", "Heron 2", "--date", "2026-03-31", *said)
    assert "Stop, and speak to your clinician" in done.output
    assert "formcheck client clear 'Heron 2'" in done.output
    with open_store() as store:
        assert len(open_answers(store, "Heron 2", most_pain=5)) == 1
    run(
        "client", "clear", "Heron 2", "--by", "coach", "--note", "spoken", "--through", "2026-03-31"
    )
    with open_store() as store:
        assert open_answers(store, "Heron 2", most_pain=5) == []


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (("Heron 2",), "nothing was said"),
        (("Heron 2", "--flag", "traum"), 'did you mean "trauma"'),
        (("stork", "--effort", "3"), "no client is called"),
    ],
)
def test_wrong_use_is_told(run, arguments, line):
    done = run("answer", *arguments)
    assert done.exit_code != 0
    assert line in str(done.exception) + done.output
    assert told() == []


def test_the_packet_of_the_record_knows_phase_sessions_and_what_is_open(run, tmp_path):
    (tmp_path / "heron.toml").write_text(PROGRAMME.replace('"heron"', '"Heron 2"'))
    assert run("packet", "heron 2", "--out", "p.html").exit_code != 0  # no programme yet
    run("client", "prescribe", "Heron 2", "heron.toml", "--from", "2026-01-05")
    assert run("packet", "heron 2", "--out", "p.html").exit_code == 0
    page = (tmp_path / "p.html").read_text("utf-8")
    assert "heron-2_belly-press_right_" in page
    assert "after 2 more sessions" in page
    assert 'class="client packet"' in page
    run("answer", "Heron 2", "--flag", "numb-or-weak")
    run("packet", "heron 2", "--out", "p.html")
    page = (tmp_path / "p.html").read_text("utf-8")
    assert 'class="client packet stopped"' in page
    main = page.split("<main>")[1].lstrip()
    assert main.startswith('<section class="stop-card"')
    assert "New numbness" in main
