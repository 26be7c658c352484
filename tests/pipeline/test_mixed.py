"""Two exercises in one clip are told, and repetitions too fast for the clip are counted or told."""

import numpy as np
import pytest

from formcheck.catalogue.codes import ProblemCode
from formcheck.clips.types import ClipInfo, DecodeReport
from formcheck.measures.measure import measure_track
from formcheck.pipeline.check import check_measured
from formcheck.pipeline.landmarks import Measured, Tracked
from formcheck.pipeline.selection import candidates_for
from formcheck.pipeline.settings import Settings
from tests.synthetic import Arm, constant, cycles, make_track

pytestmark = pytest.mark.slow

CALM = {"up_s": 1.3, "top_s": 0.4, "down_s": 1.3}
RAISES_S = [1.5, 5.0, 8.5, 12.0]


def checked(arm, tmp_path, *, duration_s, rate_hz=30.0, exercise="side-raise"):
    track = make_track(duration_s=duration_s, rate_hz=rate_hz, right=arm, left=arm)
    info = ClipInfo(tmp_path / "a.mp4", "0" * 64, track.width, track.height, 0, "mp4", "h264", "")
    report = DecodeReport(len(track.time_s), float(track.time_s[-1]), rate_hz, False, 0, 0, False)
    measured = Measured(Tracked(info, report, (), track), measure_track(track))
    return check_measured(measured, candidates_for(exercise), Settings()).result


def told(result, code):
    return [problem for problem in result.problems if problem.code == code]


def test_a_set_of_something_else_after_the_set_is_told(tmp_path):
    mixed = Arm(
        elevation=cycles(RAISES_S, 8, 85, **CALM),
        plane=constant(5.0),
        elbow=cycles([18.0, 21.5, 25.0, 28.5], 8, 135, **CALM),
    )
    result = checked(mixed, tmp_path, duration_s=33.0)
    assert len(result.whole_reps) == len(RAISES_S)
    (note,) = told(result, ProblemCode.TWO_EXERCISES)
    assert note.params["shown"] == "Elbow curl"
    assert note.start_s == pytest.approx(15.0, abs=0.7)
    assert note.end_s == pytest.approx(33.0, abs=0.1)


def test_repetitions_of_something_else_that_look_like_the_set_are_told(tmp_path):
    starts_s = [18.0, 21.5, 25.0, 28.5]
    mixed = Arm(
        elevation=cycles(RAISES_S + starts_s, 8, 85, **CALM),
        plane=lambda t: np.where(t < 16.5, 5.0, 88.0),
    )
    result = checked(mixed, tmp_path, duration_s=33.0)
    (note,) = told(result, ProblemCode.TWO_EXERCISES)
    assert note.params["shown"] == "Arm raise to the front"
    assert note.start_s == pytest.approx(15.0, abs=0.7)


def test_one_exercise_with_rests_around_it_is_one(tmp_path):
    alone = Arm(elevation=cycles([9.0, 12.5, 22.0], 8, 85, **CALM), plane=constant(5.0))
    result = checked(alone, tmp_path, duration_s=33.0)
    assert len(result.whole_reps) == 3
    assert not told(result, ProblemCode.TWO_EXERCISES)


@pytest.mark.parametrize("rate_hz", [30.0, 15.0, 5.0])
@pytest.mark.parametrize("takes_s", [0.5, 0.7, 1.0])
def test_repetitions_of_a_second_and_less_are_counted_or_told_as_too_fast(
    tmp_path, takes_s, rate_hz
):
    starts_s = [1.5 + 1.1 * takes_s * number for number in range(8)]
    way = {"up_s": 0.45 * takes_s, "top_s": 0.1 * takes_s, "down_s": 0.45 * takes_s}
    arm = Arm(elevation=cycles(starts_s, 10, 85, **way), plane=constant(5.0))
    result = checked(arm, tmp_path, duration_s=starts_s[-1] + takes_s + 2, rate_hz=rate_hz)
    too_few_pictures = rate_hz * takes_s < 11
    assert len(result.whole_reps) == 8 or told(result, ProblemCode.TOO_FAST)
    assert too_few_pictures <= bool(told(result, ProblemCode.TOO_FAST))


@pytest.mark.parametrize(("duration_s", "whole"), [(6.2, 1), (7.0, 1), (10.2, 2)])
def test_a_repetition_cut_by_the_end_is_partial(tmp_path, duration_s, whole):
    arm = Arm(elevation=cycles(RAISES_S, 8, 85, **CALM), plane=constant(5.0))
    result = checked(arm, tmp_path, duration_s=duration_s)
    assert [judged.rep.partial for judged in result.reps] == [False] * whole + [True]
