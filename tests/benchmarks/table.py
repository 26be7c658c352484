"""The results of a run of the benchmarks as a small table: python table.py benchmarks.json"""

import json
import sys
from pathlib import Path

results = {
    entry["name"].removeprefix("test_"): entry
    for entry in json.loads(Path(sys.argv[1]).read_text())["benchmarks"]
}
best_s = {name: entry["stats"]["min"] for name, entry in results.items()}


def ratio(name: str, over: str) -> str:
    """How many times as fast, by the clock and by the seconds of all cores."""
    if not {name, over} <= set(best_s):
        return ""
    by_clock = f"{best_s[over] / best_s[name]:.2f}"
    cores = [results[one]["extra_info"].get("cores_s") for one in (over, name)]
    return f"{by_clock} ({cores[0] / cores[1]:.2f})" if all(cores) else by_clock


rows = []
for name, entry in results.items():
    frames, peak = entry["extra_info"].get("frames"), entry["extra_info"].get("peak_mb")
    clip = f"[{name.split('[')[1]}" if "[" in name else ""
    rows.append(
        (
            name.replace("_", " "),
            f"{best_s[name]:.2f}",
            f"{frames / best_s[name]:.0f}" if frames else "",
            ratio(name, f"bare_loop{clip}") if frames and "batch" not in name else "",
            f"{peak}" if peak else "",
        )
    )
head = ("what", "s", "pictures a second", "x bare loop (by cores)", "peak MB")
print("| " + " | ".join(head) + " |\n" + "|---" * len(head) + "|")
for row in rows:
    print("| " + " | ".join(row) + " |")
if gain := ratio("batch[2]", "batch[1]"):
    print(f"\nTwo processes: {gain} x one.")
