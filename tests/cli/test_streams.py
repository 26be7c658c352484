"""Whatever is at the other end of the standard streams, the work goes on and says what became of it."""

import io
import os

import pytest
from rich.console import Console

from formcheck.cli import doctor, terminal
from formcheck.cli.streams import robust
from formcheck.errors import UsageError
from formcheck.scratch import MARKER
from formcheck.text import strip_direction


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="Linux has such a disk")
def test_output_that_cannot_be_written_is_dropped_and_told(tmp_path):
    with open("/dev/full", "w", encoding="utf-8") as file:
        text = robust(file)
        for _ in range(3):
            print("some lines", file=text, flush=True)
        assert text.failure == "No space left on device"


def test_output_that_nobody_reads_any_more_is_dropped_without_a_word():
    reader, writer = os.pipe()
    with os.fdopen(writer, "w", encoding="utf-8") as file:
        text = robust(file)
        print("first", file=text, flush=True)
        assert os.read(reader, 99) == b"first\n"
        os.close(reader)
        for _ in range(3):
            print("more", file=text, flush=True)
        assert text.failure == ""


def test_nothing_turns_the_direction_of_a_line_in_a_terminal(tmp_path):
    name = "a\N{RIGHT-TO-LEFT OVERRIDE}4pm\N{LEFT-TO-RIGHT ISOLATE}b שלום"
    with (tmp_path / "file").open("w", encoding="utf-8") as file:
        text = robust(file)
        print(name, file=text, flush=True)
    assert (tmp_path / "file").read_text("utf-8") == "a4pmb שלום\n"
    assert strip_direction("plain") == "plain"


def test_a_stream_of_a_program_that_runs_us_is_left_alone():
    ours = io.StringIO()
    assert robust(ours) is ours


def test_without_a_terminal_a_line_says_now_and_then_how_far_the_work_is(monkeypatch, capsys):
    monkeypatch.setattr(terminal, "LINE_EVERY_S", 0.0)
    with terminal.progress_bar("a\x1b[2Jb.mp4") as on_progress:
        on_progress(0.25)
    assert capsys.readouterr().err == "a\N{REPLACEMENT CHARACTER}[2Jb.mp4: 25% done\n"


@pytest.mark.parametrize("width", [12, 40, 71, 72, 200])
def test_in_a_narrow_terminal_a_table_becomes_a_list_and_nothing_is_cut_off(width):
    shown = io.StringIO()
    console = Console(file=shown, width=width)
    rows = [("1", "", "sag outside, as far as measured"), ("2", "left", "hike borderline")]
    terminal.print_rows(console, ("no.", "side", "findings"), rows)
    words = shown.getvalue().split()
    assert [word.strip(",") for word in words if word.strip(",") in ("sag", "hike", "left")] == [
        "sag", "left", "hike",
    ]  # fmt: skip
    assert "…" not in shown.getvalue()


def test_the_doctor_says_what_killed_runs_left(tmp_path, monkeypatch):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "nowhere"))
    monkeypatch.setenv("FORMCHECK_CACHE_DIR", str(tmp_path / "cache"))
    assert doctor._recover([tmp_path]) == "they left nothing"
    left = tmp_path / ".formcheck-abcdefgh"
    left.mkdir()
    (left / MARKER).touch()
    assert "half-written by a run that was killed; removed" in doctor._recover([tmp_path])
    with pytest.raises(UsageError, match="is no folder"):
        doctor._recover([left])
