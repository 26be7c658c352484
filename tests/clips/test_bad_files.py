"""Bad files end in one plain line, or are read as far as they go; never in a crash or a hang."""

import os
import random
from fractions import Fraction
from pathlib import Path

import av
import pytest

from formcheck.clips import decoder
from formcheck.clips.reader import open_clip
from formcheck.errors import ClipError, FormcheckError
from tests.clips.maker import number_in, steady, write_clip, write_sound

FASTSTART = {"movflags": "+faststart"}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("clips")


@pytest.fixture(scope="module")
def clip_data(folder):
    return write_clip(folder / "clip.mp4", steady(60), size=(128, 96)).read_bytes()


def refusal(path, mirrored=False):
    """The one line with which a file is refused; it names the file and not the folder."""
    with pytest.raises(ClipError) as caught, open_clip(path, mirrored=mirrored) as reader:
        list(reader.frames())
    message = str(caught.value)
    assert message.startswith(f"{path.name}: ")
    assert "\n" not in message
    assert str(path.parent) not in message
    return message


def read(path):
    with open_clip(path) as reader:
        frames = list(reader.frames())
    return reader, frames


def test_a_missing_file_is_named(tmp_path):
    assert "no such file" in refusal(tmp_path / "clip.mp4")


def test_addresses_are_taken_for_file_names(tmp_path):
    assert "no such file" in refusal(Path("https://example.org/clip.mp4"))
    assert "no such file" in refusal(tmp_path / "-")


def test_a_folder_is_refused(tmp_path):
    assert "folder" in refusal(tmp_path)


def test_a_pipe_is_refused_without_waiting(tmp_path):
    os.mkfifo(tmp_path / "clip.mp4")
    assert "not an ordinary file" in refusal(tmp_path / "clip.mp4")


def test_a_file_that_may_not_be_read_is_refused(tmp_path, monkeypatch):
    def forbidden(*_, **__):
        raise PermissionError(13, "Permission denied")

    (tmp_path / "clip.mp4").write_bytes(b"x")
    monkeypatch.setattr(Path, "open", forbidden)
    assert "may not be read" in refusal(tmp_path / "clip.mp4")


@pytest.mark.parametrize("name", ["x" * 300 + ".mp4", "nul\0.mp4"])
def test_an_impossible_name_is_refused(tmp_path, name):
    assert "cannot be read" in refusal(tmp_path / name)


def test_an_empty_file_is_refused(tmp_path):
    (tmp_path / "clip.mp4").touch()
    assert "empty" in refusal(tmp_path / "clip.mp4")


def test_text_named_as_a_clip_is_refused(tmp_path):
    (tmp_path / "clip.mp4").write_text("Monday: three sets of ten\n" * 100)
    assert "not a video that formcheck can read" in refusal(tmp_path / "clip.mp4")


def test_sound_alone_is_refused(tmp_path):
    assert "no video" in refusal(write_sound(tmp_path / "clip.m4a"))


def test_a_clip_without_a_single_picture_is_refused(tmp_path):
    assert "damaged" in refusal(write_clip(tmp_path / "clip.mkv", []))


def test_a_picture_of_absurd_size_is_refused(tmp_path):
    clip = write_clip(tmp_path / "clip.avi", steady(1), codec="mjpeg", pixel_format="yuvj420p")
    size, absurd = (b"".join(n.to_bytes(2) for n in side) for side in ((48, 64), (9000, 9000)))
    data = clip.read_bytes()
    frame_header = data.index(b"\xff\xc0") + 5
    assert data[frame_header : frame_header + 4] == size
    clip.write_bytes(data[:frame_header] + absurd + data[frame_header + 4 :])
    assert "larger than 8192 x 8192" in refusal(clip)


PLAYLISTS = {
    "hls.m3u8": "#EXTM3U\n#EXT-X-TARGETDURATION:2\n#EXTINF:2,\n{clip}\n#EXT-X-ENDLIST\n",
    "concat.mp4": "ffconcat version 1.0\nfile '{clip}'\n",
    "dash.mpd": '<?xml version="1.0"?><MPD xmlns="urn:mpeg:dash:schema:mpd:2011" type="static">'
    '<Period><AdaptationSet mimeType="video/mp4"><Representation id="1" bandwidth="1">'
    "<BaseURL>{clip}</BaseURL></Representation></AdaptationSet></Period></MPD>",
    "session.sdp": "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\n"
    "m=video 5004 RTP/AVP 96\na=rtpmap:96 H264/90000\n",
}


@pytest.mark.parametrize("name", PLAYLISTS)
def test_playlists_are_never_followed(tmp_path, name, clip_data):
    (tmp_path / "clip.mp4").write_bytes(clip_data)
    (tmp_path / name).write_text(PLAYLISTS[name].format(clip="clip.mp4"))
    assert "not a video that formcheck can read" in refusal(tmp_path / name)


@pytest.mark.parametrize("tenths", range(1, 10))
def test_a_clip_without_its_end_and_index_cannot_be_read(tmp_path, tenths, clip_data):
    (tmp_path / "clip.mp4").write_bytes(clip_data[: len(clip_data) * tenths // 10])
    refusal(tmp_path / "clip.mp4")


@pytest.mark.parametrize("tenths", range(5, 10))
def test_a_clip_with_its_index_in_front_is_read_as_far_as_it_goes(tmp_path, tenths):
    clip = write_clip(tmp_path / "clip.mp4", steady(150), size=(128, 96), file_options=FASTSTART)
    data = clip.read_bytes()
    clip.write_bytes(data[: len(data) * tenths // 10])
    reader, frames = read(clip)
    assert [number_in(frame.image) for frame in frames] == list(range(len(frames)))
    assert 0 < len(frames) < 150
    assert reader.report.ended_early
    problem = next(problem for problem in reader.problems if problem.code == "ended-early")
    assert problem.form == "stated"
    assert problem.params["read_s"] == pytest.approx(len(frames) / 30, abs=0.05)
    assert problem.params["stated_s"] == pytest.approx(5.0, abs=0.05)
    assert not problem.fatal


def overwrite(path, numbers, start, filler):
    """Damage the packets of these pictures from byte ``start`` on; only that part is overwritten."""
    with av.open(str(path)) as container:
        packets = [(packet.pos, packet.size) for packet in container.demux(video=0)]
    data = bytearray(path.read_bytes())
    for number in numbers:
        place, size = packets[number]
        data[place + start : place + size] = filler * (size - start)
    path.write_bytes(data)


def test_a_damaged_picture_is_left_out_and_counted(tmp_path, capfd):
    options = {"preset": "medium", "bf": "0", "g": "5"}
    clip = write_clip(tmp_path / "clip.mp4", steady(40), size=(128, 96), options=options)
    overwrite(clip, [14], 15, b"\xff")
    capfd.readouterr()
    reader, frames = read(clip)
    assert [number_in(frame.image) for frame in frames] == [*range(14), *range(15, 40)]
    assert frames[14].time_s == pytest.approx(15 / 30)
    assert reader.report.damaged_packets == 1
    (problem,) = reader.problems
    assert problem.code == "damaged-pictures"
    assert problem.params == {"damaged": 1, "stored": 40}
    assert capfd.readouterr() == ("", "")


def test_pictures_that_a_decoder_drops_without_a_word_are_counted(tmp_path):
    """A wrong picture number in a slice head makes the decoder lose what follows."""
    options = {"x265-params": "log-level=none:keyint=5:bframes=0"}
    clip = write_clip(
        tmp_path / "clip.mov", steady(40), codec="libx265", size=(128, 96), options=options
    )
    with av.open(str(clip)) as container:
        packet = list(container.demux(video=0))[12]
    data = bytearray(clip.read_bytes())
    data[packet.pos + 7] ^= 0xFF
    clip.write_bytes(data)
    reader, frames = read(clip)
    assert len(frames) < 40
    assert reader.report.damaged_packets == 40 - len(frames)


def test_reading_stops_where_nothing_but_damage_follows(tmp_path, monkeypatch):
    monkeypatch.setattr(decoder, "_MAX_DAMAGED_IN_A_ROW", 3)
    options = {"bf": "0", "g": "5"}
    clip = write_clip(
        tmp_path / "clip.flv", steady(40), tick=Fraction(1, 1000), size=(128, 96), options=options
    )
    overwrite(clip, range(20, 40), 16, b"\xff")
    reader, frames = read(clip)
    assert [number_in(frame.image) for frame in frames] == list(range(20))
    assert reader.report.damaged_packets == 4
    assert reader.report.ended_early
    problem = next(problem for problem in reader.problems if problem.code == "ended-early")
    assert problem.form == "unstated"
    assert problem.params["read_s"] == pytest.approx(0.7, abs=0.05)


def test_the_same_damage_gives_the_same_reading(tmp_path, clip_data):
    data = bytearray(clip_data)
    for place in random.Random(5).sample(range(1000, data.index(b"moov")), 30):
        data[place] ^= 0xFF
    (tmp_path / "clip.mp4").write_bytes(data)
    (one, first), (other, again) = read(tmp_path / "clip.mp4"), read(tmp_path / "clip.mp4")
    assert one.report == other.report
    assert [frame.image.tobytes() for frame in first] == [frame.image.tobytes() for frame in again]


MUTABLE = {
    "clip.mp4": {"file_options": FASTSTART},
    "clip.webm": {"codec": "libvpx-vp9"},
    "clip.avi": {"codec": "mjpeg", "pixel_format": "yuvj420p"},
    "clip.gif": {"codec": "gif", "pixel_format": "rgb8"},
    "clip.mov": {"codec": "libx265"},
    "clip.ts": {},
}


@pytest.mark.parametrize("name", MUTABLE)
def test_mutated_files_are_read_or_refused_but_never_crash(tmp_path, name):
    path = write_clip(tmp_path / name, steady(20), **MUTABLE[name])
    data = path.read_bytes()
    chance = random.Random(name)
    for _ in range(60):
        path.write_bytes(mutated(data, chance))
        try:
            _, frames = read(path)
        except FormcheckError:
            continue
        times = [frame.time_s for frame in frames]
        assert times == sorted(set(times))


def mutated(data, chance):
    """A few bytes changed, lost or put in, as often near the head as anywhere."""
    data = bytearray(data)
    for _ in range(chance.choice([1, 3, 10, 50])):
        place = chance.randrange(min(len(data), chance.choice([1500, len(data)])))
        kind = chance.random()
        if kind < 0.7:
            data[place] = chance.randrange(256)
        elif kind < 0.8:
            del data[place : place + chance.randrange(1, 9)]
        elif kind < 0.9:
            data[place:place] = chance.randbytes(chance.randrange(1, 9))
        else:
            data[place : place + 4] = chance.choice([b"\xff" * 4, bytes(4), b"\x7f\xff\xff\xff"])
    return bytes(data)
