"""A batch from a folder of clips to results, whatever the clips are like."""

import csv
import os
from dataclasses import replace

import pytest

from formcheck.batch.job import Limits
from formcheck.batch.workers import pool
from formcheck.errors import UsageError
from formcheck.sheets.options import SheetOptions

pytestmark = pytest.mark.slow

LIMITS = Limits(time_s=6.0, memory_mb=3000)


def outputs(out):
    return {
        path.relative_to(out).as_posix(): path.read_bytes()
        for path in out.rglob("*")
        if path.is_file() and ".formcheck-batch" not in path.parts
    }


def test_every_clip_of_a_hundred_is_accounted_for(add_clip, run_quick, uploads, out, clip_bytes):
    """Ninety good ones; ten that are damaged, or crash, stall or bloat whoever looks at them."""
    for number in range(90):
        add_clip(f"good-{number}.mp4")
    (uploads / "empty.mp4").touch()
    (uploads / "text.mp4").write_text("not a clip")
    (uploads / "cut.mp4").write_bytes(clip_bytes[: len(clip_bytes) // 3])
    (uploads / "noise.mov").write_bytes(os.urandom(5000))
    expected = {name: "unreadable" for name in ("empty.mp4", "text.mp4", "cut.mp4", "noise.mov")}
    add_clip("refused-1.mp4")
    expected["refused-1.mp4"] = "unreadable"
    for name in ("crash-1.mp4", "hang-1.mp4", "hungry-1.mp4", "bug-1.mp4"):
        add_clip(name)
        expected[name] = "set-aside"
    add_clip("crash_once-1.mp4")
    expected["crash_once-1.mp4"] = "unusable"

    done = run_quick(limits=LIMITS, workers=2)

    assert len(done) == 100
    for name, outcome in done.items():
        status = expected.get(name, "unusable")
        assert outcome.status == status, (name, outcome.why)
        there = (out / outcome.folder / "result.json").is_file()
        assert there == (status == "unusable")
        assert (out / "set-aside" / f"{outcome.folder}.json").is_file() != there
    assert "crashed its worker 2 times (SIGABRT)" in done["crash-1.mp4"].why
    assert "took too long" in done["hang-1.mp4"].why
    assert "3000 MB" in done["hungry-1.mp4"].why
    assert run_quick.checked.count("crash-1.mp4") == 2
    assert [path.name for path in out.iterdir() if path.name[0] == "."] == [".formcheck-batch"]
    with (out / "summary.csv").open() as file:
        rows = list(csv.DictReader(file))
    assert {row["clip"]: row["status"] for row in rows} == {n: o.status for n, o in done.items()}

    before = outputs(out)
    add_clip("good-7.mp4", "sent again")
    add_clip("new.mp4")
    again = run_quick(limits=LIMITS)
    assert sorted(run_quick.checked) == ["good-7.mp4", "new.mp4"]  # and nothing else
    other = again.pop("good-7.mp4").folder
    for name, outcome in done.items():
        if name in again:
            kept = name != "empty.mp4"  # nothing to know an empty file again by
            assert again[name] == replace(outcome, cached=kept, seconds=again[name].seconds)
    after = outputs(out)
    changed = {path for path in before if before[path] != after[path]}
    assert changed == {"summary.csv", "summary.html"}  # what was sent first is still there
    assert f"{other}/result.json" in after


def test_clips_of_hostile_names_get_plain_folders_and_a_summary_that_is_safe(
    add_clip, run_quick, uploads, out, monkeypatch
):
    monkeypatch.setattr(pool, "CLIPS_A_WORKER", 3)
    names = ["=cmd|' -C calc'!A0.mp4", "<img src=x onerror=alert(1)>.mp4", "a\nb.mp4", "-rf.mp4"]
    for name in names:
        add_clip(name)
    add_clip("latin.mp4").rename(uploads / os.fsdecode(b"\xff.mp4"))
    done = run_quick()
    assert len(done) == 5
    assert len(run_quick.processes) == 2  # a worker is replaced after so many clips
    assert "not valid text" in done["\ufffd.mp4"].why
    for outcome in done.values():
        assert outcome.folder.isprintable()
        assert not set(outcome.folder) & set("/<>|=\n")
    page = (out / "summary.html").read_text("utf-8")
    assert "<img" not in page
    assert "&lt;img src=x onerror=alert(1)&gt;" in page
    with (out / "summary.csv").open(encoding="utf-8") as file:
        assert not any(cell[:1] in {"=", "-", "@"} for row in csv.reader(file) for cell in row)


@pytest.mark.parametrize(
    ("sheets", "why"),
    [
        (SheetOptions(locale="xx"), "no locale"),
        (SheetOptions(paper="a4", pdf=False), "leaves out"),
        (SheetOptions(alias="heron"), "in a manifest"),
    ],
)
def test_sheets_that_cannot_be_made_are_refused_before_any_clip(run_quick, add_clip, sheets, why):
    add_clip("good-1.mp4")
    with pytest.raises(UsageError, match=why):
        run_quick(setup={"sheets": sheets})
