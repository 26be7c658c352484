"""Kill a batch at so many random moments, and prove that nothing is lost: python kills.py 200"""

import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.clips.maker import write_clip

BATCH = Path(__file__).parents[1] / "batch" / "quick_batch.py"
CLIPS_A_KILL = 25
"""More than a run gets done before it is killed."""


def results(out: Path) -> dict[str, int]:
    return {path.parent.name: path.stat().st_ino for path in out.glob("[!.]*/result.json")}


def start(uploads: Path, out: Path) -> subprocess.Popen[bytes]:
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    command = [sys.executable, str(BATCH), str(uploads), str(out), "2"]
    return subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL)


def kill(batch: subprocess.Popen[bytes], *, and_workers: bool) -> None:
    """End a batch at once; with its workers, as a power cut would, or leaving them to notice."""
    children = Path(f"/proc/{batch.pid}/task/{batch.pid}/children").read_text().split()
    batch.kill()
    for child in children if and_workers else ():
        os.kill(int(child), signal.SIGKILL)
    batch.wait()


def main(kills: int) -> None:
    folder = Path(tempfile.mkdtemp())
    uploads, out = folder / "uploads", folder / "results"
    uploads.mkdir()
    whole = write_clip(folder / "clip.mp4", [n / 10 for n in range(8)]).read_bytes()
    for number in range(kills * CLIPS_A_KILL):
        note = str(number).encode()
        free = (len(note) + 8).to_bytes(4, "big") + b"free" + note
        (uploads / f"clip-{number}.mp4").write_bytes(whole + free)
    chance = random.Random(kills)
    kept: dict[str, int] = {}
    for number in range(kills):
        batch = start(uploads, out)
        before = len(kept) - (number % 5 == 4)  # now and then while it looks at what is done
        while len(results(out)) <= before and batch.poll() is None:
            time.sleep(0.02)
        time.sleep(chance.expovariate(8))
        kill(batch, and_workers=chance.random() < 0.5)
        done = results(out)
        assert kept.items() <= done.items(), "a finished result was lost or made again"
        kept = done
        print(f"kill {number + 1}: {len(kept)} done", flush=True)
    assert start(uploads, out).wait() == 0
    assert kept.items() <= results(out).items()
    assert len(results(out)) == kills * CLIPS_A_KILL, "a clip is missing"
    assert [path.name for path in out.iterdir() if path.name[0] == "."] == [".formcheck-batch"]
    print(f"{kills} kills, {len(results(out))} clips, nothing lost")


if __name__ == "__main__":
    main(int(sys.argv[1]))
