"""What checking costs beside what it cannot do without: decoding, and running the pose model."""

import pytest

from formcheck.clips.reader import open_clip
from formcheck.exercises.library import load_exercise
from formcheck.landmarks.bundles import find_bundle
from formcheck.landmarks.pose import PoseModel
from formcheck.pipeline import Settings, check_clip
from formcheck.sheets.write import write_sheets
from tests.benchmarks.looped import SAMPLE, looped

EXERCISE = load_exercise("side-raise")
ROUNDS = 3


@pytest.fixture(scope="module")
def frames():
    with open_clip(SAMPLE) as clip:
        return sum(1 for _ in clip.frames(max_side_px=640))


@pytest.fixture
def timed(benchmark, frames):
    def timed(work, setup=None):
        benchmark.extra_info["frames"] = frames
        benchmark.pedantic(work, setup=setup, rounds=ROUNDS, warmup_rounds=1)

    return timed


def decode():
    with open_clip(SAMPLE) as clip:
        for _ in clip.frames(max_side_px=640):
            pass


def bare_loop():
    """Decode every frame, run the model on it, and nothing else."""
    with open_clip(SAMPLE) as clip, PoseModel(find_bundle("full"), "follow") as model:
        for frame in clip.frames(max_side_px=640):
            model.people(frame.image, frame.time_s)


def check(use_cache=False, clip=SAMPLE):
    return check_clip(clip, EXERCISE, settings=Settings(rate_hz=240.0, use_cache=use_cache))


def sheets(checked, clip, out):
    write_sheets(
        checked.result,
        EXERCISE,
        table=checked.table,
        track=checked.track,
        clip_path=clip,
        out_dir=out,
    )


def test_decode_only(timed):
    timed(decode)


def test_bare_loop(timed):
    timed(bare_loop)


def test_check_of_every_frame(timed):
    timed(check)


def test_check_of_every_frame_with_sheets(timed, tmp_path):
    timed(lambda: sheets(check(), SAMPLE, tmp_path / "out"))


@pytest.fixture(scope="module")
def known_minute(tmp_path_factory):
    """A clip of 60 s whose landmarks are in the cache."""
    folder = tmp_path_factory.mktemp("minute")
    clip = looped(SAMPLE, folder / "minute.mp4", 60)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FORMCHECK_CACHE_DIR", str(folder / "cache"))
        check(use_cache=True, clip=clip)
        yield clip


def test_score_a_minute_again_from_known_landmarks(benchmark, known_minute):
    benchmark.pedantic(check, args=(True, known_minute), rounds=ROUNDS, warmup_rounds=1)


def test_write_the_sheets_of_a_minute_again(benchmark, known_minute, tmp_path):
    checked = check(True, known_minute)
    benchmark.pedantic(
        sheets, args=(checked, known_minute, tmp_path / "out"), rounds=ROUNDS, warmup_rounds=1
    )
