"""Nothing is lost however a run ends, and runs that meet share the work."""

import json
import os
import random
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

QUICK_BATCH = Path(__file__).with_name("quick_batch.py")
CLIPS = 24


@pytest.fixture
def start(uploads, out, tmp_path):
    """Start a batch as a process of its own."""
    environment = {
        **os.environ,
        "QUICK_LOG": str(tmp_path / "checked.log"),
        "PYTHONPATH": str(Path(__file__).parents[2]),
    }

    def start():
        command = [sys.executable, str(QUICK_BATCH), str(uploads), str(out), "1"]
        return subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True)

    return start


def results(out):
    return {path.parent.name: path.stat().st_ino for path in out.glob("[!.]*/result.json")}


def test_nothing_is_lost_when_a_run_is_killed_and_started_again(add_clip, start, out):
    for number in range(CLIPS):
        add_clip(f"clip-{number}.mp4")
    chance = random.Random(6)
    kept = {}
    for wanted in (3, 12):
        with start() as batch:
            while len(results(out)) < wanted:
                assert batch.poll() is None
                time.sleep(0.01)
            time.sleep(chance.uniform(0, 0.1))
            batch.kill()
        done = results(out)
        assert kept.items() <= done.items()  # what was finished is not made again
        kept = done
    assert len(kept) < CLIPS
    with start() as batch:
        printed, _ = batch.communicate()
    assert sorted(printed.split("\n")[:-1]) == sorted(
        f"clip-{n}.mp4 unusable" for n in range(CLIPS)
    )
    assert kept.items() <= results(out).items()
    assert len(results(out)) == CLIPS
    assert [path.name for path in out.iterdir() if path.name[0] == "."] == [".formcheck-batch"]


def test_two_runs_on_one_folder_share_the_work(add_clip, start, run_quick, out, tmp_path):
    names = [f"slow-{number}.mp4" for number in range(12)]
    for name in names:
        add_clip(name)
    with start() as other:
        while not results(out):
            time.sleep(0.01)
        done = run_quick()
        printed, _ = other.communicate()
    assert set(run_quick.checked) < set(names)  # some were done by the other
    assert sorted(done) == sorted(line.split()[0] for line in printed.splitlines()) == sorted(names)
    lines = (tmp_path / "checked.log").read_text().splitlines()
    checked = Counter(json.loads(line)[0] for line in lines)
    assert max(checked.values()) == 1  # none twice
    assert len(results(out)) == 12
