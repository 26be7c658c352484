"""What joining two cameras costs beside looking at both clips: time, and peak memory beside one clip."""

import os

import pytest

from formcheck.exercises.library import load_exercise
from formcheck.pipeline.landmarks import track_clip
from formcheck.pipeline.settings import Settings
from formcheck.pipeline.together import check_together
from tests.benchmarks.looped import SAMPLES, enlarged, looped
from tests.benchmarks.peak import peak_mb

PAIR = [SAMPLES / f"circle-elbow_two-phones_{view}.mp4" for view in ("front", "side")]
EXERCISE = load_exercise("bent-elbow-circle")
MINUTES = float(os.environ.get("FORMCHECK_BENCH_PAIR_MINUTES", "1"))
ROUNDS = 2  # the better one counts


@pytest.fixture(scope="module")
def pair(tmp_path_factory):
    """MINUTES of the pair, each clip played again and again."""
    folder = tmp_path_factory.mktemp("pair")
    return [looped(clip, folder / clip.name, MINUTES * 60) for clip in PAIR]


def test_two_landmark_passes(benchmark, pair):
    def passes():
        for clip in pair:
            track_clip(clip, Settings(use_cache=False))

    benchmark.pedantic(passes, rounds=ROUNDS)


def test_joined_from_known_landmarks(benchmark, pair, tmp_path, monkeypatch):
    """All beyond the passes: both clips' measures, the joining, the verdicts."""
    monkeypatch.setenv("FORMCHECK_CACHE_DIR", str(tmp_path / "cache"))
    for clip in pair:
        track_clip(clip, Settings())
    checked = benchmark.pedantic(check_together, args=(pair, EXERCISE), rounds=ROUNDS)
    assert len(checked) == 1


@pytest.mark.parametrize("count", [1, 2])
def test_memory(benchmark, tmp_path, count):
    large = [
        looped(enlarged(clip, tmp_path / f"large-{clip.name}", 1080, 1920), tmp_path / clip.name,
               MINUTES * 60)
        for clip in PAIR[:count]
    ]  # fmt: skip
    how = ["--exercise", "bent-elbow-circle", "--no-cache", "--out", str(tmp_path / "out")]
    how += ["--together"] if count == 2 else []

    def work():
        benchmark.extra_info["peak_mb"] = peak_mb("check", *map(str, large), *how)

    benchmark.pedantic(work, rounds=1)
