"""Small clips, and batches of them that are checked in no time."""

import json
import threading
from dataclasses import replace

import pytest

from formcheck.batch.job import Limits, Setup
from formcheck.batch.plan import Request
from formcheck.batch.run import run_batch
from tests.batch.quick_worker import QUICK_WORKER
from tests.clips.maker import write_clip


@pytest.fixture(scope="session")
def clip_bytes(tmp_path_factory):
    path = tmp_path_factory.mktemp("clips") / "clip.mp4"
    return write_clip(path, [number / 10 for number in range(8)]).read_bytes()


@pytest.fixture
def uploads(tmp_path):
    folder = tmp_path / "uploads"
    folder.mkdir()
    return folder


@pytest.fixture
def out(tmp_path):
    return tmp_path / "results"


@pytest.fixture
def add_clip(uploads, clip_bytes):
    """Put a clip of that name into the folder, its content like no other's."""

    def add(name, content=None):
        path = uploads / name
        path.parent.mkdir(parents=True, exist_ok=True)
        note = f"{name} {content}".encode()
        free = (len(note) + 8).to_bytes(4, "big") + b"free" + note  # a box that players skip
        path.write_bytes(clip_bytes + free)
        return path

    return add


@pytest.fixture
def run_quick(uploads, out, tmp_path, monkeypatch):
    """Run a batch over the folder with the quick check; outcomes by clip, and which were checked."""
    log = tmp_path / "checked.log"
    monkeypatch.setenv("QUICK_LOG", str(log))

    def run(*sources, exercise="scaption-raise", limits=None, stop=None, **changes):
        before = len(log.read_text().splitlines()) if log.exists() else 0
        setup = Setup(out=out, limits=limits or Limits(), retry=changes.pop("retry", False))
        setup = replace(setup, **changes.pop("setup", {}))
        request = Request(
            sources=sources or (str(uploads),), setup=setup, exercise=exercise, **changes
        )
        done = run_batch(request, stop=stop or threading.Event(), command=QUICK_WORKER)
        lines = [json.loads(line) for line in log.read_text().splitlines()[before:]]
        run.checked = [name for name, _ in lines]
        run.processes = {process for _, process in lines}
        return {outcome.shown: outcome for outcome in done}

    return run
