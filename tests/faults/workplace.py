"""A place to try faults in: clips whose landmarks are known, results, temporary files, and no others."""

import hashlib
import os
import random
import shutil
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

from formcheck.landmarks.bundles import find_bundle
from formcheck.landmarks.cache import LandmarkCache, cache_key
from formcheck.pipeline.settings import Settings

ROOT = Path(__file__).parents[2]
CLIP = ROOT / "tests" / "data" / "raise_front.mp4"
EXERCISE = "scaption-raise"
HANG_S = 300.0
"""Generous even for a busy machine: whatever takes longer hangs."""
SAME_EACH_TIME = ("result.json", "measures.csv", "reps.csv")


@dataclass
class Workplace:
    root: Path
    chance: random.Random = field(default_factory=lambda: random.Random(16))

    def __post_init__(self):
        for folder in (self.out, self.temporary, self.clips):
            folder.mkdir(parents=True)
        self.environment = os.environ | {
            "FORMCHECK_CACHE_DIR": str(self.root / "cache"),
            "TMPDIR": str(self.temporary),
            "PYTHONPATH": str(ROOT),
            "PYTHON": sys.executable,
            "COLUMNS": "80",
        }

    @property
    def out(self):
        return self.root / "out"

    @property
    def temporary(self):
        return self.root / "temporary"

    @property
    def clips(self):
        return self.root / "clips"

    def add_clip(self, name):
        """A copy of the clip with content of its own, as known as the first one."""
        path = self.clips / name
        path.parent.mkdir(exist_ok=True)
        note = hashlib.sha256(os.fsencode(name)).digest()[:8]
        path.write_bytes(CLIP.read_bytes() + (8 + len(note)).to_bytes(4, "big") + b"free" + note)
        cache = self.root / "cache"
        known = next(cache.glob("*.npz"), None) if cache.exists() else None
        if known is None:
            done = self.run("measures", path, "--out", self.root / "first.csv")
            assert done.returncode == 0, done.stderr
        else:
            sha256 = hashlib.sha256(path.read_bytes()).hexdigest()
            settings = Settings()
            key = cache_key(sha256, find_bundle(settings.model).sha256, settings.of_frames())
            shutil.copy(known, LandmarkCache(cache).folder / f"{key}.npz")
        return path

    def start(self, *arguments):
        return subprocess.Popen(
            [sys.executable, "-m", "formcheck", *map(str, arguments)],
            env=self.environment,
            cwd=self.root,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def run(self, *arguments):
        return finish(self.start(*arguments))

    def hidden(self):
        """What of ours is half-written, in results and among temporary files."""
        places = (self.out, self.out / "set-aside", self.temporary, self.root / "cache")
        found = [path for place in places for path in place.glob("*formcheck-*")]
        return [path for path in found if path.name != ".formcheck-batch"]

    def forget_results(self):
        """Begin again with the clips alone."""
        shutil.rmtree(self.out)
        self.out.mkdir()

    def wait_until_writing(self, process):
        """Wait until something is half-written, or the process is done."""
        while process.poll() is None and not self.hidden():
            time.sleep(0.005)

    def results(self):
        """The files of each visible result that are the same whenever they are made."""
        return {
            folder.name: {name: (folder / name).read_bytes() for name in SAME_EACH_TIME}
            for folder in self.out.iterdir()
            if folder.is_dir() and folder.name[0] != "." and folder.name != "set-aside"
        }


def finish(process):
    printed, said = process.communicate(timeout=HANG_S)
    assert "Traceback" not in said, said
    return subprocess.CompletedProcess(process.args, process.returncode, printed, said)
