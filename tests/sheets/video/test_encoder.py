from itertools import pairwise

import av
import numpy as np
import pytest

from formcheck.clips.sound import SOUND_RATE_HZ, read_sound
from formcheck.sheets.video.encoder import ClipWriter

TIMES_S = (0.0, 0.04, 0.1, 0.1333, 0.25, 1.0, 1.011)


def gradient(index, height=65, width=97):
    image = np.zeros((height, width, 3), np.uint8)
    image[..., 0] = np.linspace(20, 220, width)
    image[..., 1] = 30 * index
    image[..., 2] = 120
    return image


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    path = tmp_path_factory.mktemp("clip") / "annotated.mp4"
    with ClipWriter(path) as writer:
        for index, time_s in enumerate(TIMES_S):
            writer.add(time_s, gradient(index))
    return path


def test_every_frame_keeps_its_own_time(written):
    with av.open(str(written)) as container:
        times = [frame.time for frame in container.decode(video=0)]
    assert times == pytest.approx(TIMES_S, abs=1e-4)


def test_the_clip_is_h264_yuv420p_without_sound_or_foreign_data(written):
    with av.open(str(written)) as container:
        (stream,) = container.streams
        assert stream.codec_context.name == "h264"
        assert stream.codec_context.pix_fmt == "yuv420p"
        assert (stream.width, stream.height) == (96, 64)
        assert set(container.metadata) <= {
            "major_brand",
            "minor_version",
            "compatible_brands",
            "encoder",
        }


def test_the_index_comes_before_the_pictures(written):
    data = written.read_bytes()
    assert data.index(b"moov") < data.index(b"mdat")


def test_colours_come_back_as_they_went_in(written):
    with av.open(str(written)) as container:
        first = next(container.decode(video=0)).to_ndarray(format="rgb24").astype(float)
    assert np.abs(first - gradient(0)[:64, :96]).mean() < 6


def test_times_that_repeat_are_kept_apart(tmp_path):
    path = tmp_path / "same.mp4"
    with ClipWriter(path) as writer:
        for time_s in (0.0, 0.1, 0.1, 0.2):
            writer.add(time_s, gradient(1))
    with av.open(str(path)) as container:
        times = [frame.time for frame in container.decode(video=0)]
    assert len(times) == 4
    assert all(a < b for a, b in pairwise(times))


def test_sound_goes_along_as_aac_at_its_moment_and_no_further_than_the_pictures(tmp_path):
    path = tmp_path / "sounding.mp4"
    seconds = np.arange(3 * SOUND_RATE_HZ) / SOUND_RATE_HZ
    tone = np.where((seconds > 0.5) & (seconds < 0.8), np.sin(2764.6 * seconds), 0).astype(
        "float32"
    )
    blocks = iter(np.array_split(np.stack([tone, tone]), 70, axis=1))
    with ClipWriter(path, blocks) as writer:
        for index, time_s in enumerate(TIMES_S):
            writer.add(time_s, gradient(index))
    heard = np.concatenate(list(read_sound(path)), axis=1)
    loud = np.flatnonzero(np.abs(heard[0]) > 0.2) / SOUND_RATE_HZ
    assert (loud[0], loud[-1]) == pytest.approx((0.5, 0.8), abs=0.03)
    assert heard.shape[1] / SOUND_RATE_HZ == pytest.approx(TIMES_S[-1], abs=0.05)
    with av.open(str(path)) as container:
        assert container.streams.audio[0].codec_context.name == "aac"
        times = [frame.time for frame in container.decode(video=0)]
    assert times == pytest.approx(TIMES_S, abs=1e-4)
