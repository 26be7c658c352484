"""Whether two commits give the same results: python -m tests.compare_commits OLD NEW

Each commit checks every sample clip as the exercise of its truth file, from a worktree of its own.
``--clips FOLDER --mapping FILE`` adds further clips; the mapping is a CSV table with the columns
``clip`` (a name, or a pattern with ``*``) and ``exercise``.

Values must be equal: every key of the old result.json, every column of the old measures.csv and
reps.csv. New keys and columns are allowed. Sentences (text with a space in it) are compared too, and
told by themselves: rewording them is no difference. Exit code 1 if any value differs.
"""

import argparse
import csv
import json
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from fnmatch import fnmatch
from pathlib import Path

ROOT = Path(__file__).parents[1]
TABLES = ("measures.csv", "reps.csv")
SHOWN = 5
"""Differences of a clip that are listed; the others are only counted."""


@dataclass
class Comparison:
    """What differs between two results of a clip, one line each; new keys whatever their number."""

    values: list[str] = field(default_factory=list)
    sentences: list[str] = field(default_factory=list)
    added: set[str] = field(default_factory=set)

    def json(self, old, new, place=""):
        """Compare two parts of result.json."""
        if isinstance(old, dict) and isinstance(new, dict):
            everywhere = re.sub(r"\[\d+\]", "[]", place)
            self.added |= {f"{everywhere}.{key}" for key in new.keys() - old.keys()}
            for key, value in old.items():
                if key in new:
                    self.json(value, new[key], f"{place}.{key}")
                else:
                    self.values.append(f"{place}.{key} is gone")
        elif isinstance(old, list) and isinstance(new, list):
            if len(old) != len(new):
                self.values.append(f"{place}: {len(old)} entries, now {len(new)}")
            for number, pair in enumerate(zip(old, new, strict=False)):
                self.json(*pair, f"{place}[{number}]")
        elif old != new or type(old) is not type(new):
            worded = all(isinstance(text, str) and " " in text for text in (old, new))
            (self.sentences if worded else self.values).append(f"{place}: {old!r}, now {new!r}")

    def table(self, old, new, place):
        """Compare two tables, given as lists of rows by column."""
        if len(old) != len(new):
            self.values.append(f"{place}: {len(old)} rows, now {len(new)}")
        for number, (before, after) in enumerate(zip(old, new, strict=False), start=1):
            self.json(before, after, f"{place}[{number}]")

    def folders(self, old, new):
        """Compare two result folders."""
        for name in ("result.json", *TABLES):
            before, after = old / name, new / name
            if before.exists() != after.exists():
                self.values.append(f"{name} is {'there now' if after.exists() else 'gone'}")
            elif before.exists() and name == "result.json":
                self.json(
                    json.loads(before.read_text("utf-8")), json.loads(after.read_text("utf-8"))
                )
            elif before.exists():
                self.table(rows_of(before), rows_of(after), name)


def rows_of(path):
    """The rows of a CSV table."""
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def clips_to_check(folder, mapping) -> Iterator[tuple[Path, str]]:
    """Every clip with the exercise that it is checked as."""
    for truth in sorted((ROOT / "sample_clips").glob("*.truth.json")):
        clip = truth.with_name(truth.name.replace(".truth.json", ".mp4"))
        yield clip, json.loads(truth.read_text("utf-8"))["exercise"]
    if folder:
        rows = rows_of(mapping)
        for clip in sorted(folder.glob("*.mp4")):
            named = [row["exercise"] for row in rows if fnmatch(clip.stem, row["clip"])]
            if not named:
                raise SystemExit(f"{mapping.name} names no exercise for {clip.name}")
            yield clip.resolve(), named[0]


@contextmanager
def worktree(revision, place):
    """The files of a commit in a place of their own."""
    subprocess.run(
        ["git", "worktree", "add", "--quiet", "--detach", place, revision], cwd=ROOT, check=True
    )
    try:
        yield place
    finally:
        subprocess.run(["git", "worktree", "remove", "--force", place], cwd=ROOT, check=True)


def check(source, clip, exercise, out, cache):
    """Check a clip with the formcheck of a worktree; its exit code."""
    command = [sys.executable, "-m", "formcheck", "check", clip, "--exercise", exercise]
    environment = {**os.environ, "PYTHONPATH": str(source), "FORMCHECK_CACHE_DIR": str(cache)}
    done = subprocess.run(
        [*command, "--out", out, "--no-pdf"],
        cwd=source,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode not in (0, 4):
        print(f"{clip.name}: {done.stderr.strip()}", file=sys.stderr)
    return done.returncode


def compare(options) -> bool:
    """Check all clips with both commits and print what differs; whether any value does."""
    clips = list(clips_to_check(options.clips, options.mapping))
    with tempfile.TemporaryDirectory(prefix="compare-") as folder:
        place = Path(folder)
        results = {}
        for way, revision in (("old", options.old), ("new", options.new)):
            cache = options.cache or place / f"cache-{way}"
            with (
                worktree(revision, place / f"source-{way}") as source,
                ThreadPoolExecutor(options.jobs) as pool,
            ):
                begun = [
                    pool.submit(check, source, clip, exercise, place / way, cache)
                    for clip, exercise in clips
                ]
                results[way] = [one.result() for one in begun]
        found = []
        for (clip, _), codes in zip(clips, zip(*results.values(), strict=True), strict=True):
            one = Comparison()
            one.json(*codes, "exit code")
            one.folders(place / "old" / clip.stem, place / "new" / clip.stem)
            found.append((clip.stem, one))
    print_table(found)
    return any(one.values for _, one in found)


def print_table(found) -> None:
    """A row a clip, then what differs."""
    width = max(len(name) for name, _ in found)
    print(f"{'clip':{width}}  values  sentences  added keys")
    for name, one in found:
        print(
            f"{name:{width}}  {len(one.values) or 'same':>6}  {len(one.sentences) or 'same':>9}  "
            f"{len(one.added) or '-':>10}"
        )
    for kind in ("values", "sentences"):
        lines = [(name, line) for name, one in found for line in getattr(one, kind)[:SHOWN]]
        if lines:
            print(f"\n{kind}, at most {SHOWN} of each clip:")
        for name, line in lines:
            print(f"  {name}: {line}")
    if added := set().union(*(one.added for _, one in found)):
        print("\nadded keys:", *sorted(added), sep="\n  ")


def main() -> None:
    """Read the command line."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("old", help="a git revision")
    parser.add_argument("new", help="a git revision")
    parser.add_argument("--clips", type=Path, help="a folder of further clips (.mp4)")
    parser.add_argument("--mapping", type=Path, help="a CSV table: clip, exercise")
    parser.add_argument(
        "--cache",
        type=Path,
        help="one cache of landmarks for both commits; else each finds its own",
    )
    parser.add_argument("--jobs", type=int, default=1, help="clips that are checked at once")
    options = parser.parse_args()
    if bool(options.clips) != bool(options.mapping):
        parser.error("--clips and --mapping go together")
    raise SystemExit(1 if compare(options) else 0)


if __name__ == "__main__":
    main()
