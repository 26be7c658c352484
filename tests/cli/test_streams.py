"""Whatever is at the other end of the standard streams, the work goes on and says what became of it."""

import io
import os

import pytest

from formcheck.cli.streams import robust
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
