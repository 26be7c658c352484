"""The batch command as its user meets it, with the real check."""

import csv
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from formcheck.cli import main

pytestmark = pytest.mark.slow

CLIP = Path(__file__).parents[1] / "data" / "raise_front.mp4"


@pytest.fixture
def run(uploads, out, tmp_path):
    def formcheck(source, *arguments):
        return subprocess.run(
            [
                sys.executable,
                "-m",
                "formcheck",
                "batch",
                str(source),
                "--out",
                str(out),
                *arguments,
            ],
            capture_output=True,
            text=True,
            check=False,
            env={**os.environ, "FORMCHECK_CACHE_DIR": str(tmp_path / "cache"), "COLUMNS": "120"},
        )

    return formcheck


def test_a_manifest_is_checked_and_a_changed_tolerance_scores_again_from_known_landmarks(
    run, uploads, out, tmp_path
):
    shutil.copy(CLIP, uploads / "raise.mp4")
    (uploads / "damaged.mp4").write_bytes(CLIP.read_bytes()[:9000])
    mine = 'like = "scaption-raise"\nname = "my-raise"\n'
    (uploads / "my-raise.toml").write_text(mine)
    manifest = uploads / "visits.csv"
    manifest.write_text(
        "clip,client,exercise,date\n"
        "raise.mp4,heron,my-raise.toml,2026-03-31\n"
        "damaged.mp4,stork,scaption-raise,\n"
    )

    first = run(manifest)
    assert first.returncode == 3, first.stderr
    assert first.stdout.index("damaged.mp4") < first.stdout.index("raise.mp4")
    assert "2 clips: 1 not checked, 1 dose not met" in first.stdout
    assert "heron" in (out / "raise" / "sheet.html").read_text("utf-8")
    with (out / "summary.csv").open() as file:
        rows = {row["clip"]: row for row in csv.DictReader(file)}
    assert (rows["raise.mp4"]["status"], rows["raise.mp4"]["date"]) == ("analysed", "2026-03-31")
    assert rows["damaged.mp4"]["status"] == "unreadable"

    entries = {path: path.stat().st_mtime_ns for path in (tmp_path / "cache").rglob("*.npz")}
    assert entries
    target = '[[checks]]\nid = "height"\nlow = 20\nhigh = 30\ntolerance = 1\n'
    (uploads / "my-raise.toml").write_text(mine + target)
    second = run(manifest)
    assert "1 done before" in second.stdout
    result = json.loads((out / "raise" / "result.json").read_text())
    (height,) = [check for check in result["reps"][0]["checks"] if check["id"] == "height"]
    assert (height["low"], height["high"], height["verdict"]) == (19, 31, "outside")
    after = {path: path.stat().st_mtime_ns for path in (tmp_path / "cache").rglob("*.npz")}
    assert after == entries

    assert (out / "raise" / "coach.pdf").is_file()
    assert run(manifest, "--no-pdf", "--locale", "de-CH", "--fhir").returncode == 3
    names = {path.name for path in (out / "raise").iterdir()}
    assert "observations.json" in names
    assert not any(name.endswith(".pdf") for name in names)
    assert run(manifest, "--locale", "xx-nowhere").returncode == 2


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--exercise", "side-rise"], 'did you mean "side-raise"'),
        (["--exercise", "side-raise"], "no clips found"),
    ],
    ids=["exercise", "no clips"],
)
def test_wrong_use_is_one_line_and_exit_code_2(uploads, out, monkeypatch, capsys, arguments, words):
    if "no clips found" not in words:
        shutil.copy(CLIP, uploads)
    command = ["formcheck", "batch", str(uploads), "--out", str(out), *arguments]
    monkeypatch.setattr(sys, "argv", command)
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.startswith("formcheck: ")
    assert len(printed.err.splitlines()) == 1
    assert words in printed.err


def test_without_an_exercise_a_clip_is_recognised_or_said_to_be_unclear(run, uploads, out):
    samples = Path(__file__).parents[2] / "sample_clips"
    for name in ("external-rotation_front", "scaption-raise_front_hike"):
        shutil.copy(samples / f"{name}.mp4", uploads)
    done = run(uploads)
    assert done.returncode == 3, done.stderr
    with (out / "summary.csv").open() as file:
        rows = {row["clip"]: row for row in csv.DictReader(file)}
    known, unclear = rows["external-rotation_front.mp4"], rows["scaption-raise_front_hike.mp4"]
    assert (known["exercise"], known["side"]) == ("external-rotation-at-side", "right")
    assert unclear["look"] == "say which exercise"
    assert "side-raise" in unclear["why"]
    assert "%" in unclear["why"]
