"""What a clip is checked as, and what comes of it, with the pose model left out."""

import pytest

from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.clips.types import ClipInfo, DecodeReport
from formcheck.errors import UnrecognisedError, UsageError
from formcheck.measures.measure import measure_track
from formcheck.pipeline import check
from formcheck.pipeline.check import check_clip
from formcheck.pipeline.landmarks import Measured, Tracked
from formcheck.pipeline.selection import candidates_for
from tests.synthetic import Arm, constant, cycles, make_track

TURNING = Arm(
    elevation=constant(20.0),
    elbow=constant(90.0),
    rotation=cycles([1.5, 6.0, 10.5], 55, -45, up_s=1.5, top_s=0.5, down_s=1.5),
)


@pytest.fixture
def measured(monkeypatch, tmp_path):
    """Have every clip be one of that figure."""

    def make(arm, problems=()):
        track = make_track(duration_s=16, right=arm)
        info = ClipInfo(tmp_path / "set.mp4", "0" * 64, 640, 480, 0, "mp4", "h264", "yuv420p")
        report = DecodeReport(480, 16.0, 30.0, False, 0, 0, False)
        clip = Measured(Tracked(info, report, problems, track), measure_track(track))
        monkeypatch.setattr(check, "measure_clip", lambda *_, **__: clip)

    return make


@pytest.mark.slow
def test_an_exercise_is_found_by_its_name(measured):
    measured(TURNING)
    checked = check_clip("set.mp4", "external-rotation-at-side")
    assert checked.result.exercise == checked.exercise.name == "external-rotation-at-side"
    assert checked.result.side == "right"
    assert len([j for j in checked.result.reps if not j.rep.partial]) == 3
    assert checked.recognised is None


@pytest.mark.slow
def test_an_exercise_that_nobody_named_is_recognised(measured):
    measured(TURNING)
    checked = check_clip("set.mp4")
    assert checked.exercise.name == "external-rotation-at-side"
    assert checked.recognised.exercise.name == "external-rotation-at-side"
    assert checked.recognised.probability > 0.85


@pytest.mark.slow
def test_a_clip_that_may_be_several_exercises_is_not_guessed(measured):
    measured(Arm())
    with pytest.raises(UnrecognisedError, match=r"set\.mp4: which exercise this is cannot be told"):
        check_clip("set.mp4")


@pytest.mark.slow
def test_whoever_is_asked_may_refuse(measured):
    measured(TURNING)
    with pytest.raises(UnrecognisedError):
        check_clip("set.mp4", confirm=lambda *_: False)


@pytest.mark.slow
def test_a_clip_that_cannot_be_judged_is_not_asked_about(measured):
    measured(TURNING, (RecordingProblem(ProblemCode.NOBODY_IN_VIEW, fatal=True, form="ever"),))
    checked = check_clip("set.mp4", confirm=lambda *_: pytest.fail("asked"))
    assert (checked.exercise, checked.result.exercise) == (None, "unknown")
    assert not checked.result.usable
    named = check_clip("set.mp4", "belly-press")
    assert (named.exercise.name, named.result.reps) == ("belly-press", ())
    assert not named.result.usable


def test_what_a_clip_may_be_is_said_in_one_way_only():
    with pytest.raises(UsageError, match="not both"):
        check_clip("set.mp4", "belly-press", candidates=candidates_for("belly-press"))


RAISING = Arm(
    elevation=cycles([1.5, 6.0, 10.5], 8, 110, up_s=1.5, top_s=0.5, down_s=1.5),
    plane=constant(20.0),
)
"""Between side and front: one raise or the other, and in no case a press."""


@pytest.mark.slow
def test_nothing_in_a_clip_of_another_exercise_is_judged(measured):
    measured(RAISING)
    result = check_clip("set.mp4", "belly-press").result
    assert result.another_exercise.code == ProblemCode.ANOTHER_EXERCISE
    assert result.reps == ()
    summary = result.summary
    assert (summary.score, summary.cues, summary.praise) == (None, (), None)
    assert (result.dose.counted.count, result.dose.met) == (0, None)


PLAN = """
client = "wren"
phase = "week 3"
[[limits]]
measure = "shoulder_elevation"
never_above = 60
[[items]]
exercise = "EXERCISE"
side = "right"
[[items.checks]]
id = "height"
low = 40
high = 55
"""


@pytest.fixture
def programme(tmp_path):
    """A programme of these raises, with one limit for all."""

    def make(*names):
        head, item = PLAN.split("[[items]]", 1)
        text = head + "".join("[[items]]" + item.replace("EXERCISE", name) for name in names)
        (tmp_path / "wren.toml").write_text(text)
        return tmp_path / "wren.toml"

    return make


@pytest.mark.slow
def test_a_set_in_which_a_limit_was_passed_does_not_count_as_done(measured, programme):
    measured(RAISING)
    result = check_clip("set.mp4", programme=programme("side-raise")).result
    (limit,) = result.alarms
    assert (limit.state, limit.high) == ("passed", 60.0)
    assert limit.value > 90
    assert (limit.times_seen, limit.among) == (3, 3)
    assert (result.dose.met, result.summary.cues, result.summary.praise) == (False, (), None)


@pytest.mark.slow
def test_a_limit_that_all_it_may_be_have_in_common_is_judged_though_the_exercise_is_open(
    measured, programme
):
    measured(RAISING)
    plan = programme("side-raise", "scaption-raise")
    result = check_clip("set.mp4", programme=plan, confirm=lambda *_: False).result
    assert (result.usable, result.exercise) == (False, "unknown")
    (why,) = result.fatal_problems
    assert (why.code, why.form) == ("exercise-unclear", "several")
    (limit,) = result.alarms
    assert (limit.state, limit.per_clip) == ("passed", True)


@pytest.mark.slow
def test_a_clip_of_none_of_the_clients_exercises_is_said_so_and_its_limits_are_judged(
    measured, tmp_path
):
    measured(RAISING)
    plan = PLAN.partition("[[items.checks]]")[0].replace("EXERCISE", "elbow-curl")
    another = '[[items]]\nexercise = "external-rotation-at-side"\nside = "right"\n'
    (tmp_path / "wren.toml").write_text(plan + another)
    path = tmp_path / "wren.toml"
    checked = check_clip("set.mp4", programme=path, confirm=lambda *_: pytest.fail("was asked"))
    (why,) = checked.result.fatal_problems
    assert (why.code, why.form) == ("exercise-unclear", "none")
    assert [limit.state for limit in checked.result.alarms] == ["passed"]
    assert (checked.exercise, checked.result.dose.met) == (None, None)
