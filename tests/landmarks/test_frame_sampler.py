"""Which frames are analysed, with a pose model that finds what the scene says, exactly."""

import numpy as np
import pytest

from formcheck.clips.types import Frame
from formcheck.landmarks import person_tracker
from formcheck.landmarks.bundles import Bundle
from formcheck.landmarks.frame_sampler import MOVING_GAP_S, SETTLE_S, STILL_GAP_S
from formcheck.landmarks.pose import Pose
from formcheck.landmarks.track import LANDMARK_COUNT, Joint
from formcheck.landmarks.track_clip import track_frames

SIZE = (160, 320)
SPAN = 0.6
MOVED = [Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST]


class Scene:
    """A body whose right arm is ``place(t)`` spans from where it hangs; None where nobody is seen.

    As a pose model it reads the time from the picture's first three pixels.
    """

    def __init__(self, place, grain=0.0, shake=0.0):
        self._place = place
        self._grain = grain
        self._shake = shake
        self._stderr = np.random.default_rng(5)

    def frames(self, times):
        for time_s in times:
            yield Frame(float(time_s), self._picture(float(time_s)))

    def _picture(self, time_s):
        picture = np.full((SIZE[1], SIZE[0], 3), 128.0)
        place = self._place(time_s)
        if place is not None:
            x, y = self._arm(place)
            picture[int(y * SIZE[1]) :, int(x * SIZE[0]) - 6 : int(x * SIZE[0]) + 6] = 40
        if self._grain:
            picture += self._stderr.normal(scale=self._grain, size=picture.shape)
        picture += self._stderr.normal(scale=self._shake)
        picture = picture.clip(0, 255).astype(np.uint8)
        picture[0, :3, 0] = np.frombuffer(round(time_s * 1000).to_bytes(3, "big"), np.uint8)
        return picture

    def _arm(self, place):
        return 0.3 + place * SPAN * SIZE[1] / SIZE[0], 0.5

    def people(self, image, time_s=0.0):
        read_s = int.from_bytes(image[0, :3, 0].tobytes(), "big") / 1000
        place = self._place(read_s)
        if place is None:
            return []
        points = np.zeros((LANDMARK_COUNT, 3))
        points[:, 0] = np.linspace(0.45, 0.55, LANDMARK_COUNT)
        points[:, 1] = np.linspace(0.2, 0.2 + SPAN, LANDMARK_COUNT)
        points[MOVED, :2] = self._arm(place)
        return [Pose(points, points, np.ones(LANDMARK_COUNT))]

    def __enter__(self):
        return self

    def __exit__(self, *_):
        pass


@pytest.fixture
def analyse(monkeypatch):
    """Track a scene; gives the track and the times that were analysed."""

    def run(place, duration_s=6.0, rate_hz=30.0, times=None, every_frame=False, **scene):
        scene = Scene(place, **scene)
        monkeypatch.setattr(person_tracker, "PoseModel", lambda bundle, mode: scene)
        times = np.arange(round(duration_s * rate_hz)) / rate_hz if times is None else times
        track = track_frames(
            scene.frames(times),
            bundle=Bundle("fake", None, "0"),
            width=SIZE[0],
            height=SIZE[1],
            every_frame=every_frame,
        )
        return track, np.delete(track.time_s, track.skipped)

    return run


def still(_):
    return 0.0


def gaps(times, start_s=SETTLE_S + 0.2, end_s=99.0):
    return np.diff(times[(times >= start_s) & (times <= end_s)])


def wrist_x(track):
    return track.image_px[:, Joint.RIGHT_WRIST, 0]


def test_a_still_body_is_looked_at_six_times_a_second(analyse):
    track, analysed = analyse(still)
    assert gaps(analysed)[:-1] == pytest.approx(5 / 30)
    assert track.analysed < len(track.time_s) / 3


@pytest.mark.slow
def test_a_slow_movement_is_looked_at_in_every_second_frame(analyse):
    _, onward = analyse(lambda t: 0.25 * t)
    assert gaps(onward)[:-1] == pytest.approx(2 / 30)
    _, to_and_fro = analyse(lambda t: 0.1 * np.sin(5 * t))
    assert np.median(gaps(to_and_fro)) == pytest.approx(2 / 30)
    assert gaps(to_and_fro).max() < STILL_GAP_S


def test_a_fast_movement_is_looked_at_in_every_frame(analyse):
    _, analysed = analyse(lambda t: 0.12 * np.sin(30 * t))
    assert (gaps(analysed) < 1.1 / 30).mean() > 0.5


@pytest.mark.parametrize("rate_hz", [5, 10])
def test_a_clip_of_few_frames_loses_none(analyse, rate_hz):
    track, _ = analyse(lambda t: 0.1 * np.sin(3 * t), rate_hz=rate_hz)
    assert len(track.skipped) == 0


def test_every_frame_can_be_asked_for(analyse):
    track, _ = analyse(still, every_frame=True)
    assert len(track.skipped) == 0


@pytest.mark.slow
def test_a_sudden_start_is_no_more_than_a_frame_off(analyse):
    for start in range(60, 66):
        track, analysed = analyse(lambda t, s=start / 30: max(0.0, t - s) * 0.6, duration_s=4)
        assert (
            np.diff(analysed[np.searchsorted(analysed, start / 30 + 1e-6) - 1 :]).max()
            < MOVING_GAP_S
        )
        assert wrist_x(track)[:start] == pytest.approx(wrist_x(track)[0], abs=0.05)


@pytest.mark.slow
def test_the_last_frame_is_analysed(analyse):
    for count in range(90, 96):
        track, _ = analyse(still, times=np.arange(count) / 30)
        assert len(track.time_s) - 1 not in track.skipped
        assert track.tracked.all()


@pytest.mark.slow
def test_grain_does_not_count_as_movement(analyse):
    _, analysed = analyse(still, grain=3.0)
    assert np.median(gaps(analysed)) == pytest.approx(5 / 30)


def test_with_a_shaken_camera_nothing_counts_as_still(analyse):
    _, analysed = analyse(still, shake=20.0)
    assert np.median(gaps(analysed)) <= MOVING_GAP_S


def test_a_new_person_is_looked_at_in_every_frame(analyse):
    _, analysed = analyse(lambda t: 0.0 if t > 2 else None)
    found = analysed[(analysed > 2) & (analysed < 2 + SETTLE_S)]
    assert np.diff(found) == pytest.approx(1 / 30)


@pytest.mark.slow
def test_frames_in_between_lie_on_the_movement(analyse):
    def place(t):
        return 0.2 * (1 - np.cos(2 * t))

    track, _ = analyse(place)
    exact, _ = analyse(place, every_frame=True)
    assert len(track.skipped) > 60
    np.testing.assert_allclose(track.image_px, exact.image_px, atol=0.002 * SPAN * SIZE[1])
    np.testing.assert_allclose(track.visibility, exact.visibility)


def test_nothing_is_filled_in_across_a_loss(analyse):
    def place(t):
        return None if 3.0 < t < 3.15 else 0.0

    track, _ = analyse(place)
    lost = [place(t) is None for t in track.time_s]
    np.testing.assert_array_equal(~track.tracked[30:-30], lost[30:-30])


def test_no_frame_is_left_out_before_a_pause_of_the_recording(analyse):
    times = np.concatenate([np.arange(65) / 30, 3.0 + np.arange(60) / 30])
    _, analysed = analyse(still, times=times)
    assert times[64] in analysed
    assert gaps(analysed)[gaps(analysed) < 0.5].max() <= STILL_GAP_S


def test_of_two_people_every_frame_is_looked_at(analyse, monkeypatch):
    pair = []

    class Two(Scene):
        def people(self, image, time_s=0.0):
            (one,) = super().people(image, time_s)
            shifted = one.image + np.array([0.3, 0, 0])
            other = Pose(shifted, one.world, one.visibility)
            return [one, other] if self._detects else [(one, other)[self._number]]

    def model(bundle, mode):
        two = Two(still)
        two._detects, two._number = mode == "detect", len(pair)
        if mode != "detect":
            pair.append(two)
        return two

    times = np.arange(120) / 30
    monkeypatch.setattr(person_tracker, "PoseModel", model)
    track = track_frames(
        Scene(still).frames(times), bundle=Bundle("fake", None, "0"), width=SIZE[0], height=SIZE[1]
    )
    assert len(pair) == 2
    assert len(track.skipped) == 0
