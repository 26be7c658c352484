"""A clip from a stranger may be so much and no more."""

import pytest

from formcheck.clips.reader import open_clip
from formcheck.clips.types import ClipLimits
from formcheck.errors import ClipError
from tests.clips.maker import write_clip

TEN_PICTURES_GB = 10 * 64 * 48 * 3 / 1e9


@pytest.fixture
def clip(tmp_path):
    return write_clip(tmp_path / "clip.mp4", [number / 10 for number in range(20)])


def test_a_clip_within_its_limits_is_read_to_its_end(clip):
    limits = ClipLimits(duration_s=2.1, pixels=64 * 48, decoded_gb=2 * TEN_PICTURES_GB)
    with open_clip(clip, limits=limits) as reader:
        assert len(list(reader.frames())) == 20


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        (ClipLimits(duration_s=1.0), "longer than the limit"),
        (ClipLimits(pixels=64 * 48 - 1), "pictures of 64 x 48"),
    ],
    ids=["duration", "pixels"],
)
def test_a_clip_that_says_itself_that_it_is_beyond_a_limit_is_not_opened(clip, limits, words):
    with pytest.raises(ClipError, match=words):
        open_clip(clip, limits=limits)


def test_a_clip_that_says_nothing_is_read_as_far_as_the_limit(tmp_path):
    clip = write_clip(
        tmp_path / "clip.gif", [n / 10 for n in range(20)], codec="gif", pixel_format="rgb8"
    )
    seen = []
    with (
        open_clip(clip, limits=ClipLimits(duration_s=1.05)) as reader,
        pytest.raises(ClipError, match="longer than the limit"),
    ):
        seen.extend(frame.time_s for frame in reader.frames())
    assert 0.8 < seen[-1] < 1.05


def test_pictures_are_counted_also_where_few_are_asked_for(clip):
    with (
        open_clip(clip, limits=ClipLimits(decoded_gb=TEN_PICTURES_GB)) as reader,
        pytest.raises(ClipError, match="GB of pictures"),
    ):
        list(reader.frames(rate_hz=1.0))


def test_real_time_counts_not_that_of_a_slow_motion_export(clip):
    open_clip(clip, speed=0.25, limits=ClipLimits(duration_s=0.6)).close()
