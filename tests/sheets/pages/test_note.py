import pytest

from formcheck.errors import UsageError
from formcheck.sheets.pages.note import LONGEST_NOTE, read_note


@pytest.fixture
def note(tmp_path):
    def written(content):
        path = tmp_path / "note.txt"
        path.write_bytes(content)
        return path

    return written


def test_a_note_is_taken_line_by_line_as_it_stands(note):
    path = note("\ufeffTwo cushions, *not* one.\r\n\r\n<b>Slower</b> – über 3 s\n".encode())  # noqa: RUF001
    assert read_note(path) == ("Two cushions, *not* one.", "", "<b>Slower</b> – über 3 s")  # noqa: RUF001


def test_nothing_in_a_note_can_steer_a_page(note):
    (line,) = read_note(note("a\x1b[31mb\N{RIGHT-TO-LEFT OVERRIDE}c".encode()))
    assert line == "a [31mbc"


@pytest.mark.parametrize(
    ("content", "why"),
    [(b"\xff\xfe\x00a", "plain text in UTF-8"), (b"a" * (LONGEST_NOTE + 1), "longer than")],
)
def test_what_is_no_note_is_one_clear_line(note, content, why):
    with pytest.raises(UsageError, match=why):
        read_note(note(content))


def test_a_note_that_is_not_there_is_one_clear_line(tmp_path):
    with pytest.raises(UsageError, match="there is no such file"):
        read_note(tmp_path / "none.txt")
