"""A look before a check says of a clip what the check will say of it."""

from dataclasses import replace

import numpy as np
import pytest

from formcheck.catalogue.codes import PreflightCode, ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.clips.types import ClipInfo, DecodeReport
from formcheck.measures.measure import measure_track
from formcheck.pipeline import check
from formcheck.pipeline.check import check_clip
from formcheck.pipeline.landmarks import Measured, Tracked
from formcheck.pipeline.preflight import preflight_clip
from tests.synthetic import Arm, constant, cycles, make_track
from tests.synthetic_daily import MOVEMENTS, daily_track

pytestmark = pytest.mark.slow

RAISE = Arm(
    elevation=cycles([1.5, 5.5, 9.5], 10, 88, up_s=1.4, top_s=0.5, down_s=1.4), plane=constant(5.0)
)
CHOICE = {
    "people": 2,
    "at_s": 4.0,
    "numbers": (1.0, 2.0),
    "x_px": (90.0, 400.0),
    "y_px": (9.0, 9.0),
}


def raises(**options):
    return make_track(duration_s=14, right=RAISE, left=RAISE, **options)


def with_problem(code, *args, **options):
    return replace(raises(), problems=(RecordingProblem(code, *args, **options),))


def hidden(track):
    return replace(track, visibility=np.full_like(track.visibility, 0.05))


def on_its_side(track):
    turn = np.array([[0, -1, 0], [1, 0, 0], [0, 0, 1]])
    return replace(track, image_px=track.image_px @ turn, world_m=track.world_m @ turn)


TRACKS = {
    "as advised": raises(),
    "from the side": raises(yaw_deg=90),
    "from behind": raises(yaw_deg=180),
    "nothing moves": make_track(duration_s=14),
    "nothing is seen": hidden(raises()),
    "on its side": on_its_side(raises()),
    "something else": daily_track(MOVEMENTS[0], 3, 0.0),
    "who is meant": with_problem(ProblemCode.WHO_IS_MEANT, fatal=True, params=CHOICE),
    "no such person": with_problem(
        ProblemCode.NO_SUCH_PERSON, fatal=True, params={"person": 3, "people": 2}
    ),
    "comes into view": with_problem(ProblemCode.NOBODY_IN_VIEW, 0.0, 1.4, form="while"),
    "hips out of view": with_problem(ProblemCode.HIPS_OUT_OF_VIEW, 0.0, 13.0, form="once"),
    "dark": with_problem(ProblemCode.TOO_DARK),
    "nobody": with_problem(ProblemCode.NOBODY_IN_VIEW, fatal=True, form="ever"),
    "a crowd": with_problem(ProblemCode.NOT_FOLLOWED, fatal=True, form="several"),
    "sides unclear": with_problem(ProblemCode.LEFT_RIGHT_UNKNOWN, fatal=True),
    "sides exchanged": with_problem(
        ProblemCode.LEFT_RIGHT_SWAP, 2.0, 3.0, params={"times": 1}, form="once"
    ),
    "somebody else": with_problem(
        ProblemCode.SOMEBODY_ELSE_IN_VIEW, 0.0, 13.0, params={"about": "left"}
    ),
}


@pytest.mark.parametrize("track", TRACKS.values(), ids=TRACKS)
def test_the_two_never_contradict_each_other(track, monkeypatch, tmp_path):
    info = ClipInfo(tmp_path / "a.mp4", "0" * 64, track.width, track.height, 0, "mp4", "h264", "")
    report = DecodeReport(len(track.time_s), float(track.time_s[-1]), 30.0, False, 0, 0, False)
    clip = Measured(Tracked(info, report, (), track), measure_track(track))
    monkeypatch.setattr(check, "measure_clip", lambda *_, **__: clip)
    checked = check_clip("a.mp4", "side-raise").result
    looked = preflight_clip("a.mp4", "side-raise")
    fatal = [problem for problem in checked.problems if problem.fatal]
    if fatal:
        assert (looked.usable, looked.message) == (False, fatal[0].message)
    elif looked.usable:
        assert any(not judged.rep.partial for judged in checked.reps)
    else:
        assert checked.summary.score is None
    told = [problem.message for problem in checked.problems]
    assert looked.message in told or looked.message.code in set(PreflightCode)
