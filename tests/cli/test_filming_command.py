"""The filming guide and the look before a check."""

from types import SimpleNamespace

import pytest
from typer.testing import CliRunner

from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.catalogue.views import MeasuredView
from formcheck.cli.app import app
from formcheck.measures.table import View
from formcheck.pipeline import preflight
from formcheck.pipeline.settings import Settings


def run(*arguments):
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


@pytest.mark.slow
def test_the_guide_says_where_the_camera_stands_and_what_each_side_shows():
    done = run("filming", "push-up-plus")
    assert done.exit_code == 0
    assert "Put the camera straight at your side" in done.output
    assert done.output.index("From the side that works") < done.output.index("From the front")
    assert "two seconds" in done.output


def test_what_is_judged_in_part_says_which_part():
    lines = run("filming", "push-up-plus").output.splitlines()
    judged = next(n for n, line in enumerate(lines) if line.startswith("  Halfway between front"))
    assert "Raised hips" in lines[judged]
    assert "Hip sag" in lines[judged + 1]


@pytest.mark.slow
def test_page_and_card_are_written(tmp_path):
    page, card = tmp_path / "a" / "guide.html", tmp_path / "guide.pdf"
    done = run("filming", "belly-press", "--html", page, "--pdf", card, "--paper", "us-letter")
    assert done.exit_code == 0, done.output
    assert card.read_bytes().startswith(b"%PDF")
    text = page.read_text("utf-8")
    assert "Belly press and hold" in text
    assert "default-src" in text


def test_an_unknown_paper_is_refused(tmp_path):
    done = run("filming", "belly-press", "--pdf", tmp_path / "a.pdf", "--paper", "a3")
    assert done.exit_code == 2
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("problems", "code", "words", "lines"),
    [
        ((), 0, "Usable", 1),
        ((RecordingProblem(ProblemCode.TOO_DARK),), 0, "Usable; one thing to know", 2),
        (
            (RecordingProblem(ProblemCode.NOTHING_MOVES, fatal=True),),
            4,
            "Is this the right clip?",
            1,
        ),
    ],
)
def test_preflight_says_the_one_thing_that_a_check_finds(monkeypatch, problems, code, words, lines):
    asked = []
    view = View(MeasuredView.FRONT, 0.0, 8.0)

    def checked(clip, exercise, *, settings, on_progress):
        asked.append((exercise.name, settings))
        summary = SimpleNamespace(score=90)
        return SimpleNamespace(
            result=SimpleNamespace(problems=problems, view=view, summary=summary)
        )

    monkeypatch.setattr(preflight, "check_clip", checked)
    done = run("preflight", "set.mp4", "--exercise", "scaption-raise", "--mirrored")
    assert done.exit_code == code
    assert words in done.output
    assert len(done.output.strip().splitlines()) == lines
    assert asked == [("scaption-raise", Settings(mirrored=True))]
