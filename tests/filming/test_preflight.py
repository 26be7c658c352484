"""One sentence about how a clip is filmed."""

import pytest

from formcheck.catalogue.codes import Message, PreflightCode, ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.catalogue.views import MeasuredView
from formcheck.exercises.library import load_exercise
from formcheck.filming.preflight import judge_filming
from formcheck.measures.table import View

RAISE = load_exercise("side-raise")
FRONT = View(MeasuredView.FRONT, 0.0, 8.0)


def test_a_good_clip_is_usable():
    found = judge_filming((), FRONT, RAISE)
    assert found.usable
    assert found.message.code == PreflightCode.GOOD_VIEW


def test_the_gravest_problem_is_the_one_that_is_told():
    dark = RecordingProblem(ProblemCode.TOO_DARK)
    hips = RecordingProblem(ProblemCode.HIPS_OUT_OF_VIEW, 0.0, 8.0, form="once")
    nobody = RecordingProblem(ProblemCode.NOBODY_IN_VIEW, fatal=True, form="ever")
    assert judge_filming((dark, hips), FRONT, RAISE).message == hips.message
    assert judge_filming((dark, hips, nobody), FRONT, RAISE).message == nobody.message
    assert not judge_filming((dark,), FRONT, RAISE).usable


def test_a_moment_out_of_view_does_not_matter():
    moment = RecordingProblem(ProblemCode.ARMS_OUT_OF_VIEW, 3.0, 3.5)
    assert judge_filming((moment,), FRONT, RAISE).usable


@pytest.mark.parametrize(
    "word",
    [
        RecordingProblem(ProblemCode.SOMEBODY_ELSE_IN_VIEW, 0.0, 8.0, params={"about": "left"}),
        RecordingProblem(ProblemCode.CAMERA_TILTED, params={"roll_deg": 9, "side": "left"}),
        RecordingProblem(ProblemCode.CAMERA_PITCHED, form="down"),
    ],
    ids=lambda problem: problem.code,
)
def test_what_a_check_can_live_with_is_a_word_and_no_refusal(word):
    found = judge_filming((word,), FRONT, RAISE)
    assert (found.usable, found.message) == (True, word.message)
    hips = RecordingProblem(ProblemCode.HIPS_OUT_OF_VIEW, 0.0, 8.0, form="once")
    assert judge_filming((word, hips), FRONT, RAISE).message == hips.message


@pytest.mark.slow
@pytest.mark.parametrize(
    ("view", "usable"), [("left", True), ("right", True), ("front", False), ("back", False)]
)
def test_a_push_up_must_be_filmed_from_the_side(view, usable):
    found = judge_filming((), View(MeasuredView(view), 0.0, 8.0), load_exercise("push-up-plus"))
    assert found.usable is usable
    assert usable or found.message == Message(PreflightCode.POOR_VIEW, {"camera": "side"})


@pytest.mark.slow
def test_a_view_that_shows_less_is_usable_with_a_word_about_it():
    found = judge_filming((), View(MeasuredView.RIGHT, 90.0, 8.0), RAISE)
    assert found.usable
    assert found.message == Message(PreflightCode.BETTER_VIEW, {"camera": "front"})


@pytest.mark.slow
def test_nobody_is_sent_to_a_side_that_shows_no_more():
    height = RAISE.model_copy(
        update={
            "checks": tuple(check for check in RAISE.checks if check.id == "height"),
            "filming": RAISE.filming.model_copy(update={"best": ("side",), "usable": ()}),
        }
    )
    found = judge_filming((), FRONT, height)
    assert found.message.code == PreflightCode.WELL_IN_VIEW
