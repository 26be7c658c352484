"""Clips are found in folders and by patterns, and never outside of them."""

import os

import pytest

from formcheck.batch.sources.source import find_clips
from formcheck.errors import UsageError


@pytest.fixture
def shown(uploads, out):
    def shown(source=None):
        return [clip.shown for clip in find_clips(str(source or uploads), out).clips]

    return shown


def test_a_folder_gives_its_clips_and_those_of_its_folders_in_order(add_clip, uploads, shown):
    for name in ("b.MOV", "a.mp4", "monday/c.webm", "no-suffix"):
        add_clip(name)
    for name in ("notes.txt", "photo.jpg", ".hidden.mp4", "clip.mp4.part"):
        add_clip(name)
    add_clip(".trash/old.mp4")
    (uploads / "readme").write_text("no video")
    assert shown() == ["a.mp4", "b.MOV", "monday/c.webm", "no-suffix"]


def test_results_within_the_folder_are_not_taken_for_clips(add_clip, uploads):
    add_clip("a.mp4")
    add_clip("results/a/annotated.mp4")
    found = find_clips(str(uploads), uploads / "results")
    assert [clip.shown for clip in found.clips] == ["a.mp4"]


@pytest.mark.parametrize(
    ("pattern", "names"),
    [
        ("*.mp4", ["a.mp4"]),
        ("*", ["a.mp4", "b.mov"]),
        ("**/*.mp4", ["a.mp4", "monday/c.mp4", "monday/late/d.mp4"]),
        ("m*/[cd].mp4", ["monday/c.mp4"]),
    ],
)
def test_a_pattern_gives_what_fits_it(add_clip, uploads, shown, pattern, names):
    for name in ("a.mp4", "b.mov", "monday/c.mp4", "monday/late/d.mp4"):
        add_clip(name)
    assert shown(uploads / pattern) == names


def test_one_clip_may_be_named(add_clip, shown):
    assert shown(add_clip("a.mp4")) == ["a.mp4"]


def test_a_place_that_is_not_there_is_said_in_one_line(uploads, shown):
    with pytest.raises(UsageError, match="no such file or folder"):
        shown(uploads / "none")


def test_links_out_of_the_folder_are_not_followed(add_clip, uploads, out, tmp_path):
    add_clip("a.mp4")
    secret = tmp_path / "elsewhere" / "secret.mp4"
    secret.parent.mkdir()
    (uploads / "a.mp4").rename(secret)
    (uploads / "file.mp4").symlink_to(secret)
    (uploads / "folder").symlink_to(secret.parent)
    (uploads / "gone.mp4").symlink_to(tmp_path / "nothing.mp4")
    for source in (uploads, uploads / "**" / "*.mp4"):
        found = find_clips(str(source), out)
        assert found.clips == []
        assert "file.mp4: is a link that leads out of the folder" in found.skipped


def test_a_clip_and_a_link_to_it_are_one_clip(add_clip, uploads, shown):
    add_clip("b.mp4")
    (uploads / "a.mp4").symlink_to(uploads / "b.mp4")
    assert shown() == ["a.mp4"]


def test_links_in_circles_end(add_clip, uploads, shown):
    add_clip("a.mp4")
    (uploads / "round").symlink_to(uploads)
    (uploads / "again").symlink_to(uploads)
    (uploads / "loop.mp4").symlink_to(uploads / "loop.mp4")
    assert shown(uploads / "**" / "*.mp4") == ["a.mp4"]


def test_what_is_no_ordinary_file_is_passed_over(uploads, shown):
    os.mkfifo(uploads / "pipe.mp4")
    assert shown() == []


def test_names_cannot_steer_a_terminal(add_clip, shown):
    add_clip("a\x1b[2Jb\u202egp.mp4")
    assert shown() == ["a\ufffd[2Jb\ufffdgp.mp4"]
