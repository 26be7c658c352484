"""The annotated clip of a set that two cameras filmed shows both pictures of each moment."""

import av
import numpy as np
import pytest

from formcheck.clips.types import Frame
from formcheck.landmarks.track import Joint
from formcheck.sheets.video.annotate import annotate
from formcheck.sheets.video.anonymise import head_circles
from formcheck.sheets.video.overlay_plan import plan_overlay
from formcheck.sheets.video.second_picture import SecondPicture
from formcheck.views.clocks import Clock

AHEAD_S = 0.5
ARM = (Joint.RIGHT_SHOULDER, Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST)


def grey(brightness):
    return np.full((320, 180, 3), brightness, np.uint8)


@pytest.fixture
def second(track):
    """A camera whose pictures grow brighter by 20 every tenth of a second, half a second ahead."""
    frames = [Frame(k / 10, grey(20 * k)) for k in range(12)]
    return SecondPicture(frames, track, Clock(AHEAD_S), (ARM,), show_face=True)


def brightness(picture):
    return float(np.median(picture))


def test_each_picture_is_the_one_nearest_to_the_moment_by_the_second_clock(second):
    assert [brightness(second.at(t, 320)) for t in (0.0, 0.04, 0.06, 0.3)] == [100, 100, 120, 160]


def test_before_and_after_its_recording_a_camera_shows_nothing(second):
    seen = [brightness(second.at(t, 160)) for t in (-0.9, -0.45, 0.6, 2.0)]
    assert seen[0] == seen[-1] == 40
    assert (seen[1], seen[2]) == (0, 220)


def test_it_is_as_high_as_asked_in_its_own_shape(second, track):
    shown = second.at(0.0, 200)
    assert shown.shape == (200, round(200 * track.width / track.height), 3)


def test_the_working_arm_is_drawn_where_the_second_camera_sees_it(second, track):
    shown = second.at(0.0, 320)
    at = int(np.abs(track.time_s - AHEAD_S).argmin())
    x, y = (track.image_px[at, Joint.RIGHT_ELBOW, :2] * 320 / track.height).astype(int)
    assert np.abs(shown[y - 3 : y + 3, x - 3 : x + 3].astype(float) - 100).max() > 60
    assert (shown[-20:, -20:] == 100).all()


def test_heads_are_veiled_in_both_pictures(result, table, exercise, track, words, tmp_path):
    noise = np.random.default_rng(3).integers(0, 255, (320, 180, 3), dtype=np.uint8)
    plan = plan_overlay(result, table, exercise, track, words)
    path = tmp_path / "annotated.mp4"
    second = SecondPicture([Frame(0.0, noise)], track, Clock(0.0), plan.chains)
    width, height, _ = annotate([Frame(0.0, noise)], plan, path, second=second)
    assert (width, height) == (366, 320)
    with av.open(str(path)) as container:
        shown = next(container.decode(video=0)).to_ndarray(format="rgb24").astype(float)
    scale = 180 / track.width
    centre, radius = head_circles(track.image_px[0, :, :2] * scale)[0]
    x, y, r = int(centre[0]), int(centre[1]), int(radius / 2)
    for left in (0, 186):
        head = shown[y - r : y + r, left + x - r : left + x + r]
        assert np.abs(np.diff(head, axis=1)).mean() < 8
