"""The learn command: an exercise file and its page, both or neither."""

import html
import re
from types import SimpleNamespace

import pytest
from typer.testing import CliRunner

from formcheck.cli.app import app
from formcheck.errors import FormcheckError
from formcheck.exercises.library import validate_file
from formcheck.pipeline import landmarks
from formcheck.pipeline.landmarks import Measured
from tests.learn.demonstration import raised, table

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def clips():
    return {
        "right.mp4": table(right=raised()),
        "wrong.mp4": table(right=raised(top=70)),
        "still.mp4": table(8),
    }


@pytest.fixture
def learn(clips, monkeypatch, tmp_path):
    tracked = SimpleNamespace(problems=())
    monkeypatch.setattr(
        landmarks, "measure_clip", lambda path, *rest: Measured(tracked, clips[path.name])
    )
    monkeypatch.chdir(tmp_path)

    def command(*arguments):
        return CliRunner().invoke(app, ["learn", *arguments])

    return command


def test_file_and_page_are_written_and_the_file_is_valid(learn, tmp_path):
    done = learn("right.mp4", "--name", "high-reach", "--out", "high-reach.toml")
    assert done.exit_code == 0, done.output
    assert validate_file(tmp_path / "high-reach.toml").name == "high-reach"
    page = (tmp_path / "high-reach.html").read_text("utf-8")
    assert "default-src &#39;none&#39;" in page or "default-src 'none'" in page
    assert "3 of the 3 that were shown as right pass" in page
    assert "http" not in page.replace("http-equiv", "")


def test_what_the_view_cannot_judge_is_named_on_the_terminal_too(learn, tmp_path):
    done = learn("right.mp4", "--name", "high-reach", "--out", "high-reach.toml")
    page = html.unescape((tmp_path / "high-reach.html").read_text("utf-8"))
    (line,) = [one for one in done.output.splitlines() if one.startswith("Left out, as this view")]
    names = line.rstrip(".").partition(": ")[2].split("; ")
    left_out = page.partition("What this view cannot judge")[2]
    assert all(f">{name}</th>" in left_out for name in names)


def test_the_page_holds_the_file_line_by_line_and_what_was_read_with_its_uncertainty(
    learn, tmp_path
):
    learn("right.mp4", "--name", "high-reach", "--out", "high-reach.toml")
    page = (tmp_path / "high-reach.html").read_text("utf-8")
    shown = re.search(r"<code>(.*?)</code>", page, re.DOTALL)[1]
    assert html.unescape(shown) + "\n" == (tmp_path / "high-reach.toml").read_text("utf-8")
    rows = re.findall(r'<th scope="row">.*?</th><td>(.*?)</td>', page)
    assert rows
    assert all("±" in cell for cell in rows if re.search(r"\d", cell))


def test_a_wrong_clip_and_a_base_are_told_on_the_page(learn, tmp_path):
    more = ("--like", "side-raise", "--wrong", "wrong.mp4", "--out", "high-reach.toml")
    done = learn("right.mp4", "--name", "high-reach", *more)
    assert "What tells them apart: Arm height" in done.output
    assert 'like = "side-raise"' in (tmp_path / "high-reach.toml").read_text("utf-8")
    assert "Of the 3 that were shown as mistakes, 3 are found" in (
        tmp_path / "high-reach.html"
    ).read_text("utf-8")


def test_a_base_in_another_folder_is_named_from_the_new_file(learn, tmp_path):
    learn("right.mp4", "--name", "first", "--out", "first.toml")
    done = learn("right.mp4", "--name", "second", "--like", "first.toml", "--out", "b/second.toml")
    assert done.exit_code == 0, done.output
    assert validate_file(tmp_path / "b" / "second.toml").primary.measure == "shoulder_elevation"


def refused(done, words):
    assert isinstance(done.exception, FormcheckError), done.output
    assert words in str(done.exception)
    return done.exception.exit_code


def test_what_is_there_already_is_never_overwritten(learn, tmp_path):
    (tmp_path / "mine.toml").write_text("of my own")
    done = learn("right.mp4", "--name", "mine", "--out", "mine.toml")
    assert refused(done, "already there") == 2
    assert (tmp_path / "mine.toml").read_text() == "of my own"


@pytest.mark.parametrize(
    ("name", "out", "words"),
    [
        ("High Reach", "a.toml", "lower-case letters"),
        ("side-raise", "a.toml", "the library has this exercise"),
        ("mine", "a.txt", "must end in .toml"),
    ],
)
def test_names_that_cannot_be_are_refused_before_any_work(learn, name, out, words):
    assert refused(learn("right.mp4", "--name", name, "--out", out), words) == 2


def test_a_clip_without_a_movement_writes_nothing(learn, tmp_path):
    done = learn("still.mp4", "--name", "mine", "--out", "mine.toml")
    assert refused(done, "No movement stands out") == 4
    assert list(tmp_path.iterdir()) == []
