"""``formcheck packet``: a page, a form and paper from a programme."""

import pytest
from typer.testing import CliRunner

from formcheck.cli.app import app
from tests.sheets.packets import PROGRAMME


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "heron.toml").write_text(PROGRAMME)
    return lambda *arguments: CliRunner().invoke(app, ["packet", *arguments])


def test_page_and_form_are_written_for_their_user_alone(run, tmp_path):
    done = run("heron.toml", "--out", "heron.html", "--form", "form.html")
    assert done.exit_code == 0, done.output
    assert "heron.html written" in done.output
    for name in ("heron.html", "form.html"):
        assert (tmp_path / name).stat().st_mode & 0o077 == 0
    assert "Bear-hug press and hold: after 2 more sessions" in (tmp_path / "heron.html").read_text()


def test_sessions_that_are_done_bring_what_is_due(run, tmp_path):
    assert run("heron.toml", "--out", "heron.html", "--sessions", "2").exit_code == 0
    assert "heron_bear-hug-press_right" in (tmp_path / "heron.html").read_text()


def test_in_german_it_is_marked_as_a_draft(run, tmp_path):
    assert run("heron.toml", "--out", "heron.html", "--locale", "de").exit_code == 0
    text = (tmp_path / "heron.html").read_text("utf-8")
    assert "Bevor Sie anfangen" in text
    assert "Entwurf" in text


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("heron.toml",), "nothing to write"),
        (("heron.toml", "--pdf", "x.pdf", "--paper", "a3"), "is not one of"),
    ],
)
def test_wrong_use_is_told_in_one_line(run, arguments, told):
    done = run(*arguments)
    assert done.exit_code != 0
    assert told in str(done.exception) + done.output
