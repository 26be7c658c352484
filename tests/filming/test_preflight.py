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


NO_REPETITION = RecordingProblem(ProblemCode.NO_REPETITION, params={"exercise": "side raise"})


@pytest.mark.parametrize(
    "framing",
    [
        RecordingProblem(ProblemCode.TOO_DARK),
        RecordingProblem(ProblemCode.HIPS_OUT_OF_VIEW, 0.0, 8.0, form="once"),
        RecordingProblem(ProblemCode.NOBODY_IN_VIEW, 0.0, 2.4, form="while"),
    ],
    ids=lambda problem: problem.code,
)
def test_framing_is_a_word_where_a_check_counts_and_the_reason_where_it_does_not(framing):
    found = judge_filming((framing,), FRONT, RAISE)
    assert (found.usable, found.message) == (True, framing.message)
    found = judge_filming((framing, NO_REPETITION), FRONT, RAISE)
    assert (found.usable, found.message) == (False, framing.message)


def test_without_a_reason_in_the_framing_what_a_check_misses_is_told():
    tilted = RecordingProblem(ProblemCode.CAMERA_TILTED, params={"roll_deg": 9, "side": "left"})
    found = judge_filming((tilted, NO_REPETITION), FRONT, RAISE)
    assert (found.usable, found.message) == (False, NO_REPETITION.message)


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
def test_what_a_check_scores_is_usable_from_wherever_it_was_filmed():
    push_up = load_exercise("push-up-plus")
    found = judge_filming((), View(MeasuredView("front"), 0.0, 8.0), push_up, scored=True)
    assert (found.usable, found.message.code) == (True, PreflightCode.BETTER_VIEW)


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
