"""The check command as its user meets it: exit codes, one clear line, whole outputs or none."""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from formcheck.sheets.export.result_json import result_schema
from tests.clips.maker import write_clip

pytestmark = pytest.mark.slow

SAMPLES = Path(__file__).parents[2] / "sample_clips"
CLIP = SAMPLES / "external-rotation_front.mp4"


@pytest.fixture(scope="module")
def cache(tmp_path_factory):
    return tmp_path_factory.mktemp("cache")


@pytest.fixture
def run(cache, tmp_path):
    def formcheck(*arguments, cwd=tmp_path):
        return subprocess.run(
            [sys.executable, "-m", "formcheck", *map(str, arguments)],
            capture_output=True,
            text=True,
            check=False,
            cwd=cwd,
            env={**os.environ, "FORMCHECK_CACHE_DIR": str(cache)},
        )

    return formcheck


def one_line(done, code):
    """The promise of every failure: the code, one line on standard error, no traceback."""
    assert done.returncode == code, done.stderr
    lines = [line for line in done.stderr.splitlines() if not line.endswith("% done")]
    assert len(lines) == 1, done.stderr
    assert lines[0].startswith("formcheck: ")
    assert "Traceback" not in done.stderr
    return lines[0]


def check(run, clip, out, *more, exercise="external-rotation-at-side"):
    return run("check", clip, "--exercise", exercise, "--out", out, *more)


def test_a_good_clip_gives_its_sheet_and_exit_code_0(run, tmp_path):
    done = check(run, CLIP, tmp_path / "out")
    assert done.returncode == 0, done.stderr
    folder = tmp_path / "out" / CLIP.stem
    result = json.loads((folder / "result.json").read_text("utf-8"))
    assert result["schema"] == 1
    assert len([r for r in result["reps"] if not r["partial"]]) == 3
    assert {"result.json", "sheet.html", "measures.csv", "reps.csv"} <= {
        path.name for path in folder.iterdir()
    }
    assert CLIP.name in done.stdout
    assert str(tmp_path) not in (folder / "sheet.html").read_text("utf-8")


def test_what_the_client_said_comes_first_on_the_sheets(run, tmp_path):
    said = {"formcheck": "answers", "client": "heron", "day": "2026-03-31", "pain_during": 8}
    (tmp_path / "said.json").write_text(json.dumps(said))
    done = check(run, CLIP, tmp_path / "out", "--answers", "said.json", "--no-pdf")
    assert done.returncode == 0, done.stderr
    folder = tmp_path / "out" / CLIP.stem
    for name in ("sheet.html", "coach.html"):
        main = (folder / name).read_text("utf-8").split("<main>")[1].lstrip()
        assert main.startswith('<section class="stop-card"')
        assert "Pain during: 8 of 10" in main
    result = json.loads((folder / "result.json").read_text("utf-8"))
    assert result["answers"]["pain_during"] == 8
    (tmp_path / "said.json").write_text("{}")
    wrong = check(run, CLIP, tmp_path / "out", "--answers", "said.json")
    assert "is no file of answers" in one_line(wrong, 2)


def test_one_bad_clip_does_not_stop_the_others(run, tmp_path):
    bad = tmp_path / "bad.mp4"
    bad.write_text("this is not a video")
    done = run("check", bad, CLIP, "--exercise", "external-rotation-at-side", "--out", "out")
    assert done.returncode == 3
    assert (tmp_path / "out" / CLIP.stem / "result.json").exists()
    assert not (tmp_path / "out" / "bad").exists()


def test_an_unusable_clip_says_why_and_what_to_film_even_if_its_exercise_was_not_said(
    run, tmp_path
):
    write_clip(tmp_path / "empty-room.mp4", [number / 10 for number in range(20)])
    done = run("check", "empty-room.mp4", "--out", "out")
    assert done.returncode == 4, done.stderr
    folder = tmp_path / "out" / "empty-room"
    result = json.loads((folder / "result.json").read_text("utf-8"))
    Draft202012Validator(result_schema()).validate(result)
    assert (result["exercise"], result["quality"]["usable"]) == ("unknown", False)
    page = (folder / "sheet.html").read_text("utf-8")
    fatal = [problem for problem in result["quality"]["problems"] if problem["fatal"]]
    assert fatal
    assert fatal[0]["message"].split(".")[0] in page
    assert "How to film it next time" in page


def make(path, kind):
    if kind == "missing":
        return path
    if kind == "folder":
        path.mkdir()
    elif kind == "empty":
        path.touch()
    elif kind == "text":
        path.write_text("a" * 5000)
    elif kind == "half":
        content = CLIP.read_bytes()
        path.write_bytes(content[: len(content) // 10])
    return path


@pytest.mark.parametrize("kind", ["missing", "folder", "empty", "text", "half"])
def test_an_unreadable_clip_is_one_line_and_exit_code_3(run, tmp_path, kind):
    clip = make(tmp_path / "clip.mp4", kind)
    line = one_line(check(run, clip, tmp_path / "out"), 3)
    assert "clip.mp4" in line
    assert not (tmp_path / "out" / "clip").exists()


def test_an_unknown_exercise_is_one_line_with_the_nearest_name(run, tmp_path):
    line = one_line(check(run, CLIP, "out", exercise="scaption-rise"), 2)
    assert "scaption-raise" in line
    assert not (tmp_path / "out").exists()


def test_a_wrong_exercise_file_says_every_fault_and_exit_code_2(run, tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text('name = "mine"\nmovemnt = "rep"\n')
    done = check(run, CLIP, "out", exercise=str(file))
    assert done.returncode == 2
    assert "movemnt" in done.stderr
    assert "Traceback" not in done.stderr


def test_an_output_folder_that_is_a_file_is_one_line_and_exit_code_2(run, tmp_path):
    (tmp_path / "out").write_text("in the way")
    one_line(check(run, CLIP, tmp_path / "out"), 2)
    assert (tmp_path / "out").read_text() == "in the way"


def test_clips_of_one_name_get_folders_of_their_own_and_each_note_stays_with_its_clip(
    run, tmp_path
):
    twin = tmp_path / "tuesday" / CLIP.name
    twin.parent.mkdir()
    twin.write_bytes(CLIP.read_bytes() + b"\0\0\0\x0cfreeTUES")  # a box that players skip
    check(run, CLIP, "out", "--no-pdf")
    first = tmp_path / "out" / CLIP.stem
    (first / "coach-note.html").write_text("of the first")
    before = {path: path.read_bytes() for path in first.iterdir()}
    for _ in range(2):
        done = check(run, twin, "out", "--no-pdf")
        assert done.returncode == 0, done.stderr
        (other,) = set((tmp_path / "out").iterdir()) - {first}
        assert f"this result is in {other.relative_to(tmp_path)}" in done.stderr
    assert {path: path.read_bytes() for path in first.iterdir()} == before
    assert not (other / "coach-note.html").exists()
    assert "note" not in check(run, CLIP, "out", "--no-pdf").stderr
    assert (first / "coach-note.html").read_text() == "of the first"


@pytest.mark.parametrize("name", [b"\xff\xfe.mp4", b"..mp4", b"...mp4"])
def test_a_clip_of_an_odd_name_does_not_stop_the_others(run, tmp_path, name):
    odd = tmp_path / os.fsdecode(name)
    shutil.copy(CLIP, odd)
    done = run(
        "check", odd, CLIP, "--exercise", "external-rotation-at-side", "--out", "o/p", "--no-pdf"
    )
    assert "Traceback" not in done.stderr
    assert done.returncode == (3 if b"\xff" in name else 0)
    folders = {CLIP.stem} if b"\xff" in name else {CLIP.stem, "clip"}
    assert {path.name for path in (tmp_path / "o" / "p").iterdir()} == folders


def test_an_error_of_formcheck_itself_is_reported_for_its_clip_and_the_others_go_on(
    run, tmp_path, monkeypatch
):
    broken = tmp_path / "broken"
    broken.mkdir()
    (broken / "sitecustomize.py").write_text(BROKEN)
    monkeypatch.setenv("PYTHONPATH", str(broken), prepend=os.pathsep)
    monkeypatch.setenv("TMPDIR", str(broken))
    shutil.copy(CLIP, tmp_path / "bug.mp4")
    done = check(run, "bug.mp4", "out", CLIP, "--no-pdf")
    line = one_line(done, 3)
    (report,) = broken.glob("formcheck-error-*.txt")
    assert line.startswith("formcheck: bug.mp4: something went wrong in formcheck itself")
    assert "(ZeroDivisionError, sitecustomize.py line " in line
    assert f"please send {report}" in line
    assert "Traceback" in report.read_text()
    assert (tmp_path / "out" / CLIP.stem / "sheet.html").exists()


BROKEN = """
import formcheck.pipeline.check as pipeline
whole = pipeline.check_clip
def check_clip(clip, **named):
    return 1 / 0 if clip.name == "bug.mp4" else whole(clip, **named)
pipeline.check_clip = check_clip
"""


@pytest.mark.parametrize(
    ("option", "value", "allowed"),
    [
        ("--locale", "xx", "en-ZA"),
        ("--date", "31.3.2026", "2026-03-31"),
        ("--stature-cm", "1.75", "give it in cm: 175"),
        ("--stature-cm", "300", "is not from 80 to 230"),
        ("--note", "nowhere.txt", "there is no such file"),
        ("--speed=0.5", "--keep-sound", "--video"),
    ],
)
def test_a_bad_option_of_the_sheets_is_one_line_saying_what_is_allowed(
    run, tmp_path, option, value, allowed
):
    assert allowed in one_line(check(run, CLIP, "out", option, value), 2)
    assert not (tmp_path / "out").exists()


def test_sheets_take_date_place_and_note_and_can_do_without_pdf(run, tmp_path):
    note = tmp_path / "note.txt"
    note.write_text("Two cushions next time.")
    more = ("--date", "2026-03-05", "--locale", "en-DE", "--note", note, "--no-pdf")
    done = check(run, CLIP, tmp_path / "out", *more)
    assert done.returncode == 0, done.stderr
    folder = tmp_path / "out" / CLIP.stem
    assert not list(folder.glob("*.pdf"))
    coach = (folder / "coach.html").read_text("utf-8")
    assert "5 March 2026" in coach
    assert "Two cushions next time." in coach
    assert re.search(r"\d,\d\N{NO-BREAK SPACE}?\s?s\b", coach)


def test_help_has_an_example_for_every_command(run):
    for command in ([], ["check"], ["measures"], ["exercises"], ["doctor"]):
        done = run(*command, "--help")
        assert done.returncode == 0
        assert "Example: formcheck" in " ".join(done.stdout.split())


def test_exercises_are_listed_shown_and_validated(run, tmp_path):
    listed = run("exercises")
    assert "scaption-raise" in listed.stdout
    shown = run("exercises", "show", "belly-press")
    assert "common practice, no source" in shown.stdout
    assert "can be decided from: front" in shown.stdout
    wrong = tmp_path / "wrong.toml"
    wrong.write_text("name = 3")
    assert run("exercises", "validate", wrong).returncode == 2
    plan = tmp_path / "heron.toml"
    plan.write_text(
        'client = "heron"\nphase = "one"\n[[items]]\nexercise = "side-raise"\nside = "left"\n'
    )
    assert "programme of heron, 1 exercise)" in run("exercises", "validate", plan).stdout


def test_measures_are_written_with_their_uncertainties(run, tmp_path):
    done = run("measures", CLIP, "--out", tmp_path / "clip.csv")
    assert done.returncode == 0, done.stderr
    header = (tmp_path / "clip.csv").read_text().splitlines()[0].split(",")
    assert header[0] == "time_s"
    for name in ("elbow_flexion_left_deg", "hike_right_cm", "trunk_turn_deg", "hip_off_line_cm"):
        assert header[header.index(name) + 1] == f"{name}_sd"


def test_of_a_wrong_exercise_terminal_page_and_exit_code_say_that_nothing_was_judged(run, tmp_path):
    curl = CLIP.with_name("elbow-curl_side.mp4")
    done = run("check", curl, "--exercise", "belly-press", "--no-pdf", "--out", tmp_path)
    assert done.returncode == 4, done.stderr
    told = " ".join(done.stdout.split())
    coach, client = (
        (tmp_path / curl.stem / name).read_text("utf-8") for name in ("coach.html", "sheet.html")
    )
    assert "This looks like Elbow curl" in told
    assert "This looks like Elbow curl" in coach
    for text in (told, coach, client):
        assert "so nothing in it was judged" in text
    assert "This clip shows one of" not in client


def test_check_does_not_record_and_says_what_does(run, tmp_path):
    line = one_line(check(run, CLIP, tmp_path / "out", "--record"), 2)
    assert "formcheck record " in line


def test_measures_never_take_the_place_of_the_clip(run, tmp_path):
    clip = tmp_path / CLIP.name
    clip.write_bytes(CLIP.read_bytes())
    for out in (clip, tmp_path):
        done = run("measures", clip, "--out", out)
        assert done.returncode == 2
        assert "must end in .csv" in " ".join(done.stderr.split())
    assert clip.read_bytes() == CLIP.read_bytes()


def test_doctor_finds_this_installation_well(run):
    done = run("doctor")
    assert done.returncode == 0, done.stdout
    for part in ("versions", "codecs", "pose model", "cache folder", "no network", "killed runs"):
        assert f"ok    {part}" in done.stdout
