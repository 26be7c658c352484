"""A clip's sound lies where it was heard: beside the picture of that moment."""

import av
import numpy as np
import pytest

from formcheck.clips.sound import SOUND_RATE_HZ, has_sound, read_sound
from tests.clips.maker import steady, write_clip
from tests.clips.sounding import TONE_S, write_sounding


def heard(path):
    blocks = list(read_sound(path))
    return np.concatenate(blocks, axis=1) if blocks else np.zeros((2, 0))


def loud_s(samples):
    """When the tone is heard, in seconds."""
    at = np.flatnonzero(np.abs(samples).max(axis=0) > 0.1)
    return at[0] / SOUND_RATE_HZ, at[-1] / SOUND_RATE_HZ


@pytest.mark.parametrize("kind", [".mp4", ".mov", ".mkv"])
def test_a_tone_is_heard_at_its_picture(tmp_path, kind):
    path = write_sounding(tmp_path / f"clip{kind}")
    assert has_sound(path)
    assert loud_s(heard(path)) == pytest.approx(TONE_S, abs=0.03)


@pytest.mark.parametrize(("rate_hz", "layout"), [(16_000, "mono"), (44_100, "stereo")])
def test_any_rate_and_any_number_of_channels_become_one_kind(tmp_path, rate_hz, layout):
    path = write_sounding(tmp_path / "clip.mp4", rate_hz=rate_hz, layout=layout)
    samples = heard(path)
    assert samples.shape[0] == 2
    assert loud_s(samples) == pytest.approx(TONE_S, abs=0.03)


def test_sound_that_begins_before_the_first_picture_is_cut_and_later_is_silence(tmp_path):
    early = write_sounding(tmp_path / "early.mkv", pictures_begin_s=0.5)
    late = write_sounding(tmp_path / "late.mkv", sound_begins_s=0.5)
    for path, shift in ((early, -0.5), (late, 0.5)):
        begin, end = loud_s(heard(path))
        assert (begin, end) == pytest.approx((TONE_S[0] + shift, TONE_S[1] + shift), abs=0.03)


def test_a_clip_without_sound_has_none(tmp_path):
    path = write_clip(tmp_path / "clip.mp4", steady(5))
    assert not has_sound(path)
    assert heard(path).size == 0


def test_damaged_sound_leaves_silence_and_the_rest_in_place(tmp_path):
    path = write_sounding(tmp_path / "clip.mkv")
    content = bytearray(path.read_bytes())
    with av.open(str(path)) as container:
        stream = container.streams.audio[0]
        packets = [p for p in container.demux(stream) if p.size]
    hurt = bytes(packets[5])
    place = content.index(hurt)
    content[place : place + len(hurt)] = bytes([255]) * len(hurt)
    path.write_bytes(content)
    assert loud_s(heard(path)) == pytest.approx(TONE_S, abs=0.05)
