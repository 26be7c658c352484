"""The filming guide and the look before a check."""

from types import SimpleNamespace

import pytest
from typer.testing import CliRunner

from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.cli.app import app
from formcheck.errors import UsageError
from formcheck.measures.measure import measure_track
from formcheck.pipeline import preflight
from formcheck.pipeline.landmarks import Measured
from tests.synthetic import make_track


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
    assert isinstance(done.exception, UsageError)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("problems", "code", "words"),
    [
        ((), 0, "Usable"),
        ((RecordingProblem(ProblemCode.NOTHING_MOVES, fatal=True),), 4, "Is this the right clip?"),
    ],
)
def test_preflight_says_one_sentence_and_looks_at_few_pictures(monkeypatch, problems, code, words):
    asked = []
    stands = measure_track(make_track(duration_s=3))

    def measured(path, settings, *rest):
        asked.append(settings)
        return Measured(SimpleNamespace(problems=problems), stands)

    monkeypatch.setattr(preflight, "measure_clip", measured)
    done = run("preflight", "set.mp4", "--exercise", "scaption-raise")
    assert done.exit_code == code
    assert words in done.output
    assert len(done.output.strip().splitlines()) == 1
    assert (asked[0].rate_hz, asked[0].use_cache) == (2.0, False)
