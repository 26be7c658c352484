"""What checking costs beside what it cannot do without: decoding, and running the pose model."""

from time import process_time

import pytest

from formcheck.clips.reader import open_clip
from formcheck.exercises.library import load_exercise
from formcheck.landmarks.bundles import find_bundle
from formcheck.landmarks.pose import PoseModel
from formcheck.pipeline.check import check_clip
from formcheck.pipeline.settings import Settings
from formcheck.sheets.write import write_sheets
from tests.benchmarks.looped import HOLDS, SAMPLE, doubled, looped

EXERCISE = load_exercise("side-raise")
ROUNDS = 2  # the better one counts
CLIPS = ("repetitions", "holds", "repetitions_60", "holds_60")


@pytest.fixture(scope="module")
def clips(tmp_path_factory):
    """Slow repetitions and holds, at 30 pictures a second and at 60."""
    folder = tmp_path_factory.mktemp("clips")
    plain = {"repetitions": SAMPLE, "holds": HOLDS}
    return plain | {
        f"{name}_60": doubled(clip, folder / f"{name}.mp4") for name, clip in plain.items()
    }


@pytest.fixture(params=CLIPS)
def clip(request, clips, benchmark):
    path = clips[request.param]
    with open_clip(path) as reader:
        benchmark.extra_info["frames"] = sum(1 for _ in reader.frames())
    return path


@pytest.fixture
def timed(benchmark):
    """Seconds by the clock are the benchmark's; seconds of all cores go beside them."""

    def timed(work):
        cores_s = []

        def measured():
            start_s = process_time()
            work()
            cores_s.append(process_time() - start_s)

        benchmark.pedantic(measured, rounds=ROUNDS)
        benchmark.extra_info["cores_s"] = min(cores_s)

    return timed


def decode(clip):
    with open_clip(clip) as reader:
        for frame in reader.frames(max_side_px=640):
            assert frame.image.size


def bare_loop(clip):
    """Decode every frame, run the model on it, and nothing else."""
    with open_clip(clip) as reader, PoseModel(find_bundle("full"), "track") as model:
        for frame in reader.frames(max_side_px=640):
            model.people(frame.image, frame.time_s)


def check(clip, *, every_frame=False, use_cache=False):
    exercise = load_exercise("belly-press") if clip == HOLDS else EXERCISE
    rate_hz = 240.0 if every_frame else 30.0
    settings = Settings(rate_hz=rate_hz, every_frame=every_frame, use_cache=use_cache)
    return check_clip(clip, exercise, settings=settings)


def test_decode_only(timed, clip):
    timed(lambda: decode(clip))


def test_bare_loop(timed, clip):
    timed(lambda: bare_loop(clip))


def test_check(timed, clip):
    timed(lambda: check(clip))


@pytest.mark.parametrize("clip", ["repetitions", "holds"], indirect=True)
def test_check_of_every_frame(timed, clip):
    timed(lambda: check(clip, every_frame=True))


@pytest.mark.parametrize("clip", ["repetitions"], indirect=True)
def test_check_with_sheets(timed, clip, tmp_path):
    timed(lambda: write_sheets(check(clip), tmp_path / "out"))


@pytest.fixture(scope="module")
def known_minute(tmp_path_factory):
    """A clip of 60 s whose landmarks are in the cache."""
    folder = tmp_path_factory.mktemp("minute")
    clip = looped(SAMPLE, folder / "minute.mp4", 60)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FORMCHECK_CACHE_DIR", str(folder / "cache"))
        check(clip, use_cache=True)
        yield clip


def test_score_a_minute_again_from_known_landmarks(benchmark, known_minute):
    benchmark.pedantic(
        check, args=(known_minute,), kwargs={"use_cache": True}, rounds=ROUNDS, warmup_rounds=1
    )


def test_write_the_sheets_of_a_minute_again(benchmark, known_minute, tmp_path):
    checked = check(known_minute, use_cache=True)
    benchmark.pedantic(
        write_sheets, args=(checked, tmp_path / "out"), rounds=ROUNDS, warmup_rounds=1
    )
