"""Peak memory of a worker against the length of a clip at 1080p."""

import os
import subprocess
import sys

import pytest

from tests.benchmarks.looped import SAMPLE, enlarged, looped

MINUTES = [float(text) for text in os.environ.get("FORMCHECK_BENCH_MINUTES", "1,5").split(",")]

WORK = """
import resource, sys
from pathlib import Path
from formcheck.exercises.library import load_exercise
from formcheck.pipeline import Settings, check_clip
from formcheck.sheets.write import write_sheets

clip, out = map(Path, sys.argv[1:])
exercise = load_exercise("side-raise")
checked = check_clip(clip, exercise, settings=Settings(model="lite", use_cache=False))
write_sheets(checked.result, exercise, table=checked.table, track=checked.track, clip_path=clip,
             out_dir=out)
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


@pytest.fixture(scope="module")
def large(tmp_path_factory):
    return enlarged(SAMPLE, tmp_path_factory.mktemp("large") / "large.mp4", 1080, 1920)


@pytest.mark.parametrize("minutes", MINUTES)
def test_memory(benchmark, large, tmp_path, minutes):
    clip = looped(large, tmp_path / "clip.mp4", minutes * 60)

    def work():
        command = [sys.executable, "-c", WORK, str(clip), str(tmp_path / "out")]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        benchmark.extra_info["peak_mb"] = round(float(done.stdout))

    benchmark.pedantic(work, rounds=1)
