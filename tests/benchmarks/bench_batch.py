"""A batch on one process and on two, and one in which everything is done already."""

import shutil
import threading

import pytest

from formcheck.batch.job import Setup
from formcheck.batch.plan import Request
from formcheck.batch.run import run_batch
from formcheck.pipeline.settings import Settings
from tests.benchmarks.looped import SAMPLE

CLIPS = 4


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("uploads")
    for number in range(CLIPS):
        shutil.copy(SAMPLE, folder / f"clip-{number}.mp4")
    return folder


def batch(folder, out, workers):
    setup = Setup(out, settings=Settings(use_cache=False))
    request = Request((str(folder),), setup, exercise="side-raise", workers=workers)
    done = run_batch(request, stop=threading.Event())
    assert [outcome.status for outcome in done] == ["analysed"] * CLIPS
    return done


@pytest.mark.parametrize("workers", [1, 2])
def test_batch(benchmark, folder, tmp_path, workers):
    done = benchmark.pedantic(batch, args=(folder, tmp_path / "out", workers), rounds=1)
    benchmark.extra_info["frames"] = sum(outcome.frames for outcome in done)


def test_batch_with_nothing_to_do(benchmark, folder, tmp_path):
    batch(folder, tmp_path / "out", 2)
    benchmark.pedantic(batch, args=(folder, tmp_path / "out", 2), rounds=1)
