"""Asking at the terminal whether a clip shows what was recognised in it."""

import pytest

from formcheck.cli import confirm
from formcheck.exercises.library import load_exercise
from formcheck.pipeline.selection import Candidate
from formcheck.recognise.recognise import Guess

RAISE = Candidate(load_exercise("side-raise"))
CURL = Candidate(load_exercise("elbow-curl"))
BEST = Guess(RAISE.exercise, "right", 0.93)


@pytest.fixture
def asked(monkeypatch):
    """Questions that somebody at a terminal was asked, and said yes to."""
    questions = []

    def yes(text, **options):
        questions.append((text, options["default"]))
        return True

    monkeypatch.setattr(confirm.sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(confirm.sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(confirm.typer, "confirm", yes)
    return questions


def test_somebody_is_asked_with_what_was_recognised_and_how_surely(asked):
    ask = confirm.confirm_on_terminal("clip.mp4", lambda: None)
    assert ask(BEST, RAISE, [RAISE])
    ((question, default),) = asked
    assert question.startswith("clip.mp4: looks like")
    assert question.endswith("(side-raise), right, 93% sure. Check it as side-raise?")
    assert default is True


def test_between_exercises_that_look_the_same_none_is_the_usual_answer(asked):
    ask = confirm.confirm_on_terminal("clip.mp4", lambda: None)
    assert ask(BEST, CURL, [RAISE, CURL])
    ((question, default),) = asked
    assert "a camera cannot tell side-raise from elbow-curl. Check it as elbow-curl?" in question
    assert default is False


def test_what_moves_on_the_screen_is_gone_before_the_question(asked):
    gone = []
    confirm.confirm_on_terminal("clip.mp4", lambda: gone.append(len(asked)))(BEST, RAISE, [RAISE])
    assert gone == [0]


def test_where_nobody_can_answer_nobody_is_asked(monkeypatch):
    monkeypatch.setattr(confirm.sys.stdin, "isatty", lambda: False, raising=False)
    assert confirm.confirm_on_terminal("clip.mp4", lambda: None) is None
