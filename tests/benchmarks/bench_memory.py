"""Peak memory of the command against the length of a clip at 1080p."""

import os
import subprocess
import sys

import pytest

from tests.benchmarks.looped import SAMPLE, enlarged, looped

MINUTES = [float(text) for text in os.environ.get("FORMCHECK_BENCH_MINUTES", "1,5").split(",")]

WORK = """
import resource
from formcheck.cli import main

try:
    main()
finally:
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


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
        command = [sys.executable, "-c", WORK, "check", str(clip), *how]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        benchmark.extra_info["peak_mb"] = round(float(done.stdout.splitlines()[-1]))

    benchmark.pedantic(work, rounds=1)
