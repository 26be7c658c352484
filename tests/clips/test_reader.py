"""Pictures are upright and exactly timed, and what was wrong with the file is told."""

import hashlib
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from formcheck.clips.reader import open_clip
from formcheck.errors import UsageError
from tests.clips.maker import corners, number_in, steady, write_clip

UPRIGHT = ["red", "green", "blue", "yellow"]


def read(path, *, mirrored=False, speed=1.0, **choices):
    with open_clip(path, mirrored=mirrored, speed=speed) as reader:
        frames = list(reader.frames(**choices))
    return reader, frames


@pytest.fixture(scope="module")
def clip(tmp_path_factory):
    return write_clip(tmp_path_factory.mktemp("clips") / "clip.mp4", steady(30))


def test_a_clip_is_known_by_its_content(clip):
    reader, frames = read(clip)
    info = reader.info
    assert info.sha256 == hashlib.sha256(clip.read_bytes()).hexdigest()
    assert (info.width, info.height, info.rotation_deg) == (64, 48, 0)
    assert (info.codec, info.pixel_format) == ("h264", "yuv420p")
    assert info.stated_duration_s == pytest.approx(1.0)
    assert corners(frames[0].image) == UPRIGHT
    assert reader.report.duration_s == pytest.approx(1.0)
    assert reader.report.mean_rate_hz == pytest.approx(30.0)


def test_times_of_a_variable_rate_are_exact(tmp_path):
    steps = [Fraction(3000 + 37 * number % 1500, 90_000) for number in range(60)]
    times = [sum(steps[:number], Fraction(0)) for number in range(60)]
    reader, frames = read(write_clip(tmp_path / "clip.mp4", times))
    assert [frame.time_s for frame in frames] == [float(time) for time in times]
    assert reader.report.variable_rate is True
    assert reader.problems == ()


def test_a_long_gap_is_kept_as_it_is(tmp_path):
    times = [*steady(10), *steady(10, start_s=20)]
    reader, frames = read(write_clip(tmp_path / "clip.mp4", times))
    assert [frame.time_s for frame in frames] == [float(time) for time in times]
    assert reader.problems == ()


@pytest.mark.parametrize("name", ["clip.mkv", "clip.ts", "clip.mp4"])
def test_time_starts_with_the_first_shown_picture(tmp_path, name):
    late = write_clip(tmp_path / name, steady(30, start_s=5))
    reader, frames = read(late)
    expected = pytest.approx([float(time) for time in steady(30)], abs=6e-4)
    assert [frame.time_s for frame in frames] == expected
    assert reader.problems == ()


def test_pictures_before_the_start_of_an_edit_are_not_shown(tmp_path):
    times = [time - Fraction(2, 30) for time in steady(30)]
    _, frames = read(write_clip(tmp_path / "clip.mp4", times))
    assert number_in(frames[0].image) == 2
    assert frames[0].time_s == 0.0


def test_repeated_and_backward_stamps_are_repaired_and_told(tmp_path):
    stamps = [0, 33, 33, 100, 120, 167, 10, 233, 267, 300]
    path = write_clip(
        tmp_path / "clip.mkv",
        steady(10),
        tick=Fraction(1, 1000),
        options={"bf": "0"},
        stamps=stamps,
    )
    reader, frames = read(path)
    times = [frame.time_s for frame in frames]
    assert [number_in(frame.image) for frame in frames] == list(range(10))
    assert times == sorted(set(times))
    assert times == pytest.approx(
        [*[time / 30 for time in range(4)], 0.12, *[time / 30 for time in range(5, 10)]], abs=1e-3
    )
    assert reader.report.repaired_times == 2
    (problem,) = reader.problems
    assert problem.code == "times-repaired"
    assert problem.params == {"repaired": 2, "stored": 10}
    assert not problem.fatal


@pytest.mark.parametrize("counter_clockwise_deg", [0, 90, 180, -90])
@pytest.mark.parametrize("mirrored", [False, True])
def test_pictures_stand_upright_whatever_way_the_camera_was_held(
    tmp_path, counter_clockwise_deg, mirrored
):
    """What is stored is turned by the display matrix; here the upright picture lies stored turned."""
    path = write_clip(tmp_path / "clip.mp4", steady(2), rotation_deg=counter_clockwise_deg)
    reader, frames = read(path, mirrored=mirrored)
    stored = np.array(UPRIGHT).reshape(2, 2)
    shown = np.rot90(stored, k=counter_clockwise_deg // 90)
    shown = shown[:, ::-1] if mirrored else shown
    assert corners(frames[0].image) == shown.ravel().tolist()
    assert frames[0].image.shape == (reader.info.height, reader.info.width, 3)
    assert reader.info.rotation_deg == -counter_clockwise_deg % 360
    assert (reader.info.width > reader.info.height) is (counter_clockwise_deg in (0, 180))


def test_the_sign_of_the_rotation_is_that_of_the_track_header(tmp_path):
    """A phone held upright writes the matrix (0 1 / -1 0), a quarter turn clockwise."""
    path = write_clip(tmp_path / "clip.mp4", steady(2))
    data = path.read_bytes()
    one = (1 << 16).to_bytes(4)
    plain = one + bytes(4 * 3) + one + bytes(4 * 3) + (1 << 30).to_bytes(4)
    phone = (
        bytes(4) + one + bytes(4) + (-(1 << 16)).to_bytes(4, signed=True) + bytes(16) + plain[-4:]
    )
    track_header = data.index(b"tkhd")
    path.write_bytes(data[:track_header] + data[track_header:].replace(plain, phone, 1))
    reader, frames = read(path)
    assert reader.info.rotation_deg == 90
    assert (reader.info.width, reader.info.height) == (48, 64)
    assert corners(frames[0].image) == ["blue", "red", "yellow", "green"]


def test_a_mirroring_display_matrix_is_followed(tmp_path):
    _, frames = read(write_clip(tmp_path / "clip.mp4", steady(2), flipped=True))
    assert corners(frames[0].image) == ["green", "red", "yellow", "blue"]


def test_pixels_that_are_not_square_are_made_square(tmp_path):
    path = write_clip(tmp_path / "clip.mp4", steady(2), pixel_shape=Fraction(3, 2))
    reader, frames = read(path)
    assert (reader.info.width, reader.info.height) == (96, 48)
    assert frames[0].image.shape == (48, 96, 3)
    _, frames = read(path, max_side_px=48)
    assert frames[0].image.shape == (24, 48, 3)


@pytest.mark.parametrize("rotation_deg", [0, 90])
def test_scaled_pictures_keep_their_shape_and_content(tmp_path, rotation_deg):
    path = write_clip(tmp_path / "clip.mp4", steady(3), size=(320, 240), rotation_deg=rotation_deg)
    reader, frames = read(path, max_side_px=96)
    expected = (72, 96, 3) if rotation_deg == 0 else (96, 72, 3)
    assert [frame.image.shape for frame in frames] == [expected] * 3
    assert (reader.info.width, reader.info.height) in {(320, 240), (240, 320)}
    stored = np.rot90(frames[2].image, k=-rotation_deg // 90)
    assert number_in(stored) == 2
    assert corners(stored) == UPRIGHT


def test_pictures_are_never_scaled_up(clip):
    _, frames = read(clip, max_side_px=640)
    assert frames[0].image.shape == (48, 64, 3)


@pytest.mark.parametrize("width", [358, 360, 362])
def test_pictures_lie_in_one_piece_though_decoders_pad_their_rows(tmp_path, width):
    _, frames = read(write_clip(tmp_path / "clip.mp4", steady(2), size=(width, 64)))
    image = frames[1].image
    assert image.flags.c_contiguous
    assert image.nbytes == width * 64 * 3
    assert number_in(image) == 1


def test_fewer_pictures_can_be_asked_for_while_the_report_counts_all(tmp_path):
    path = write_clip(tmp_path / "clip.mp4", steady(60, 60), rate=60)
    reader, frames = read(path, rate_hz=30.0)
    assert [number_in(frame.image) for frame in frames] == list(range(0, 60, 2))
    assert reader.report.frames == 60
    assert reader.report.mean_rate_hz == pytest.approx(60.0)


def test_a_slowed_clip_is_put_back_to_real_time(clip):
    reader, frames = read(clip, speed=0.25)
    assert [frame.time_s for frame in frames] == [float(time / 4) for time in steady(30)]
    assert reader.report.duration_s == pytest.approx(0.25)
    assert reader.report.mean_rate_hz == pytest.approx(120.0)
    assert reader.info.stated_duration_s == pytest.approx(0.25)
    _, fewer = read(clip, speed=0.25, rate_hz=30.0)
    assert [number_in(frame.image) for frame in fewer] == list(range(0, 30, 4))


@pytest.mark.parametrize("speed", [0.0, -1.0, 0.04, 21.0, float("nan"), float("inf")])
def test_an_absurd_speed_is_refused(clip, speed):
    with pytest.raises(UsageError, match="speed"):
        open_clip(clip, speed=speed)


def test_a_tiny_picture_is_read_but_cannot_be_used(tmp_path):
    path = write_clip(
        tmp_path / "clip.avi", steady(3), codec="ffv1", pixel_format="bgr0", size=(1, 1)
    )
    reader, frames = read(path)
    assert frames[0].image.shape == (1, 1, 3)
    (problem,) = reader.problems
    assert (problem.code, problem.fatal) == ("too-small", True)
    assert problem.params == {"width_px": 1, "height_px": 1}


def test_the_same_clip_gives_the_same_pictures_again(clip):
    first, again = read(clip)[1], read(clip)[1]
    for one, other in zip(first, again, strict=True):
        np.testing.assert_array_equal(one.image, other.image)


def test_the_report_must_wait_for_the_end_and_frames_are_read_once(clip):
    with open_clip(clip) as reader:
        frames = reader.frames()
        next(frames)
        with pytest.raises(RuntimeError, match="to their end"):
            _ = reader.report
        with pytest.raises(RuntimeError, match="once"):
            next(reader.frames())


@pytest.mark.parametrize(
    "name", ["concat:a|b.mp4", "pipe:0", "50%03d.mp4", "żółw 🏋 'x'.mp4", "-", "a\nb.mp4"]
)
def test_odd_names_are_taken_as_they_are(tmp_path, monkeypatch, clip, name):
    monkeypatch.chdir(tmp_path)
    Path(name).write_bytes(clip.read_bytes())
    assert len(read(Path(name))[1]) == 30


def test_a_title_in_an_odd_encoding_is_no_trouble(tmp_path, clip):
    path = tmp_path / "clip.mp4"
    data = clip.read_bytes()
    assert data.count(b"Lavf") == 1
    path.write_bytes(data.replace(b"Lavf", b"\xff\xfe\xe9\xf8"))
    assert len(read(path)[1]) == 30
