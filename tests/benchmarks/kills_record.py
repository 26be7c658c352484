"""Kill `formcheck record` at so many random moments: python kills_record.py 100

No row may be lost or doubled, and the record must be whole each time.
"""

import json
import os
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from formcheck.records.clients import add_client
from formcheck.records.sets import sets_of
from formcheck.records.store import open_store
from tests.records.made import made_result

RESULTS_A_KILL = 12
"""About as many as are recorded between two kills."""


def main(kills: int) -> None:
    folder = Path(tempfile.mkdtemp())
    results, place = folder / "results", folder / "records.sqlite"
    for number in range(kills * RESULTS_A_KILL):
        made = results / f"clip-{number:05}"
        made.mkdir(parents=True)
        result = made_result(f"clip {number}", client="heron", made_on="2026-03-02")
        (made / "result.json").write_text(json.dumps(result))
    with open_store(place, create=True) as store:
        add_client(store, "heron")
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    command = [sys.executable, "-m", "formcheck", "record", str(results), "--records", str(place)]
    chance = random.Random(kills)
    kept: list[str] = []
    landed = 0
    for number in range(kills):
        running = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL)
        while recorded(place) <= len(kept) and running.poll() is None:
            time.sleep(0.005)
        time.sleep(chance.expovariate(20))
        landed += running.poll() is None
        running.kill()
        running.wait()
        with open_store(place) as store:
            store.check_integrity()
            sets = sets_of(store, "heron")
        clips = [one.clip_sha256 for one in sets]
        assert clips[: len(kept)] == kept, "a recorded set was lost"
        assert len(clips) == len(set(clips)), "a set was recorded twice"
        assert all(one.checks for one in sets), "a set was recorded in part"
        kept = clips
        print(f"{number + 1}: {len(kept)} recorded", flush=True)
    subprocess.run(command, env=environment, stdout=subprocess.DEVNULL, check=True)
    with open_store(place) as store:
        assert len(sets_of(store, "heron", checks=False)) == kills * RESULTS_A_KILL
    print(f"{kills} kills, {landed} of them while it recorded: nothing lost or doubled")


def recorded(place: Path) -> int:
    with open_store(place) as store:
        row = store.row("SELECT count(*) FROM recorded_set")
        return int(row[0]) if row else 0


if __name__ == "__main__":
    main(int(sys.argv[1]))
