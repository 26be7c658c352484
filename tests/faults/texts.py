"""Exercises, programmes and manifests broken at random: taken, or refused in words and quickly.

``python -m tests.faults.texts --mutations 400`` runs more than the suite does.
"""

import argparse
import json
import random
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

import formcheck.batch.run
import formcheck.batch.sources.manifest
import formcheck.exercises.programme  # noqa: F401 - loaded once, before all forks
from tests.faults.mutants import Ran, mutated, run, tell

MOST_PROCESSOR_S = 10
LIBRARY = Path(__file__).parents[2] / "formcheck" / "exercises" / "library"
PROGRAMME = """client = "heron"
phase = "weeks 3 to 5"
[[items]]
exercise = "scaption-raise"
side = "right"
after_sessions = 1
dose = { count = 4, tempo_s = [2, 1, 2] }
[[items.limits]]
measure = "shoulder_elevation"
never_above = 120
[[items.checks]]
id = "height"
low = 70
[[items]]
exercise = "own.toml"
side = "both"
[[order]]
exercise = "elbow-curl"
after = "belly-press"
sessions = 2
source = "our clinic"
"""
ROWS = [
    {"clip": "a.mp4", "client": "heron", "exercise": "side-raise", "side": "left"},
    {"clip": "b.mp4", "exercise": "own.toml", "date": "2026-03-31", "programme": "plan.toml"},
]
PIECES = [
    *(
        b"\x00",
        b"\xff\xfe",
        b"\xef\xbb\xbf",
        "\u202e".encode(),
        b"\\u202e",
        b"\\u001b[2J",
        b"\x1b[2J",
    ),
    *(b'"', b"'''", b"[[", b"]", b"{", b",", b";", b"\n", b"\r", b"=", b" = \n", b"#", b"\\"),
    *(
        b"nan",
        b"-inf",
        b"1e999",
        b"-1",
        b"0",
        b"9" * 400,
        b"true",
        b'""',
        b"[]",
        b"{}",
        b"1979-05-27",
    ),
    *(b"a" * 300, b"a." * 5000, b"[" * 5000, b"../" * 50, b"/dev/zero", b"like = 'own.toml'\n"),
    *(
        b"[[items]]\n",
        b"[[checks]]\n",
        b"[[parts]]\n",
        b"checks = 3\n",
        b"items = 3\n",
        b"parts = []\n",
    ),
]


def cases(folder: Path, mutations: int, seed: int) -> Iterator[tuple[str, Sequence[str]]]:
    """So many broken files in ``folder``, each with its name and the command that reads it."""
    chance = random.Random(seed)
    library = sorted(LIBRARY.glob("*.toml"))
    (folder / "own.toml").write_bytes((LIBRARY / "elbow-curl.toml").read_bytes())
    (folder / "plan.toml").write_text(PROGRAMME, "utf-8")
    heading = ",".join(ROWS[1] | ROWS[0])
    csv = "\n".join(
        [heading, *(",".join(row.get(c, "") for c in heading.split(",")) for row in ROWS)]
    )
    toml = "".join(
        "[[clips]]\n" + "".join(f'{key} = "{value}"\n' for key, value in row.items())
        for row in ROWS
    )
    manifests = {".csv": csv, ".toml": toml, ".json": json.dumps(ROWS)}
    for number in range(mutations):
        kind = chance.choice(("exercise", "exercise", "programme", *manifests))
        path = folder / f"m{number}{kind if kind in manifests else '.toml'}"
        if kind == "exercise":
            whole = chance.choice(library).read_bytes()
        else:
            whole = manifests.get(kind, PROGRAMME).encode()
        path.write_bytes(mutated(whole, chance, PIECES))
        command = ["exercises", "validate", str(path)]
        if kind in manifests:  # none of its clips is there, so that none is checked
            command = ["batch", str(path), "--out", str(folder / "out")]
        yield f"{number} ({kind})", command


def try_texts(mutations: int, seed: int) -> tuple[list[str], list[Ran]]:
    """What is wrong with the answers to so many broken files, and how all commands ended."""
    faults, ran = [], []
    with tempfile.TemporaryDirectory() as name:
        for case, command in cases(Path(name), mutations, seed):
            ran.append(run(command, MOST_PROCESSOR_S))
            if fault := ran[-1].fault((0, 2)):
                faults.append(f"{case}: {fault}")
    return faults, ran


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--mutations", type=int, default=400)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    sys.exit(tell("texts", *try_texts(given.mutations, given.seed)))
