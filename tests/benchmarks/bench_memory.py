"""Peak memory of the command against the length of a clip at 1080p."""

import os

import pytest

from tests.benchmarks.looped import SAMPLE, enlarged, looped
from tests.benchmarks.peak import peak_mb

MINUTES = [float(text) for text in os.environ.get("FORMCHECK_BENCH_MINUTES", "1,5").split(",")]


@pytest.fixture(scope="module")
def large(tmp_path_factory):
    return enlarged(SAMPLE, tmp_path_factory.mktemp("large") / "large.mp4", 1080, 1920)


@pytest.mark.parametrize("minutes", MINUTES)
def test_memory(benchmark, large, tmp_path, minutes):
    clip = looped(large, tmp_path / "clip.mp4", minutes * 60)

    def work():
        how = [
            "--exercise",
            "side-raise",
            "--model",
            "lite",
            "--no-cache",
            "--out",
            str(tmp_path / "out"),
        ]
        benchmark.extra_info["peak_mb"] = peak_mb("check", str(clip), *how)

    benchmark.pedantic(work, rounds=1)
