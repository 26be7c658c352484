"""Every usual kind of file gives its pictures in order, each at its own time."""

from fractions import Fraction

import pytest

from formcheck.clips.reader import available_codecs, open_clip
from tests.clips.maker import TICK, number_in, steady, write_clip
from tests.clips.theora import SIDE_PX, write_theora

MILLISECOND = Fraction(1, 1000)
COUNT = 40
KINDS = {
    "h264.mp4": {"options": {"preset": "medium", "bf": "3"}},
    "h264.mov": {},
    "h264.mkv": {"tick": MILLISECOND, "options": {"preset": "medium", "bf": "3"}},
    "h264.ts": {"options": {"preset": "medium", "bf": "3"}},
    "hevc.mp4": {"codec": "libx265"},
    "hevc-10-bit.mov": {"codec": "libx265", "pixel_format": "yuv420p10le"},
    "vp8.webm": {"codec": "libvpx", "tick": MILLISECOND},
    "vp9.webm": {"codec": "libvpx-vp9", "tick": MILLISECOND},
    "av1.mp4": {"codec": "libsvtav1", "options": {"preset": "12"}},
    "mpeg4.avi": {"codec": "mpeg4", "tick": Fraction(1, 30)},
    "motion-jpeg.avi": {"codec": "mjpeg", "pixel_format": "yuvj420p", "tick": Fraction(1, 30)},
    "vp8.ogg": {"codec": "libvpx", "tick": Fraction(1, 30)},
    "mpeg4.3gp": {"codec": "mpeg4", "tick": Fraction(1, 30)},
    "wmv2.wmv": {"codec": "wmv2", "tick": MILLISECOND},
}


@pytest.mark.slow
@pytest.mark.parametrize(("name", "kind"), KINDS.items(), ids=KINDS)
def test_pictures_come_in_order_at_the_times_that_the_file_states(tmp_path, name, kind):
    clip = write_clip(tmp_path / name, steady(COUNT), size=(96, 64), **kind)
    with open_clip(clip) as reader:
        frames = list(reader.frames())
    assert [number_in(frame.image) for frame in frames] == list(range(COUNT))
    tick = kind.get("tick", TICK)
    expected = [float(round(time / tick) * tick) for time in steady(COUNT)]
    assert [frame.time_s for frame in frames] == pytest.approx(expected, abs=1e-9)
    assert reader.report.frames == COUNT
    assert reader.report.variable_rate is False
    assert reader.problems == ()


def test_animated_gifs_are_read(tmp_path):
    times = [Fraction(number, 25) for number in range(20)]
    clip = write_clip(
        tmp_path / "clip.gif", times, codec="gif", pixel_format="rgb8", tick=Fraction(1, 100)
    )
    with open_clip(clip) as reader:
        frames = list(reader.frames())
    assert [number_in(frame.image) for frame in frames] == list(range(20))
    assert [frame.time_s for frame in frames] == pytest.approx([float(time) for time in times])


def test_reordered_pictures_in_an_avi_file_get_evenly_rising_times(tmp_path):
    """Such files have no presentation stamps; the last few pictures have none at all."""
    clip = write_clip(
        tmp_path / "clip.avi",
        steady(COUNT),
        tick=Fraction(1, 30),
        options={"preset": "medium", "bf": "3"},
    )
    with open_clip(clip) as reader:
        frames = list(reader.frames())
    assert [number_in(frame.image) for frame in frames] == list(range(COUNT))
    assert [f.time_s for f in frames] == pytest.approx([float(time) for time in steady(COUNT)])
    assert 0 < reader.report.repaired_times <= 3


def test_empty_packets_of_theora_leave_the_picture_standing(tmp_path):
    empty = [False, False, True, True, False, False, True, False]
    write_theora(tmp_path / "clip.ogv", empty)
    with open_clip(tmp_path / "clip.ogv") as reader:
        frames = list(reader.frames())
    shown = [number / 30 for number, repeats in enumerate(empty) if not repeats]
    assert [frame.time_s for frame in frames] == pytest.approx(shown)
    assert frames[0].image.shape == (SIDE_PX, SIDE_PX, 3)
    assert reader.problems == ()


def test_high_dynamic_range_pictures_come_out_as_plain_colours(tmp_path):
    colours = "colorprim=bt2020:transfer=arib-std-b67:colormatrix=bt2020nc:log-level=none"
    clip = write_clip(
        tmp_path / "clip.mov",
        steady(3),
        codec="libx265",
        pixel_format="yuv420p10le",
        options={"x265-params": colours},
    )
    with open_clip(clip) as reader:
        frames = list(reader.frames())
    assert reader.info.pixel_format == "yuv420p10le"
    assert [number_in(frame.image) for frame in frames] == [0, 1, 2]
    assert frames[0].image.dtype == "uint8"


def test_the_installed_video_library_has_the_codecs_that_phones_use():
    codecs = available_codecs()
    assert {"h264", "hevc", "vp9", "av1", "libx264"} == set(codecs)
    assert all(codecs.values())
