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
