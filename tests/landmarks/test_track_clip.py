"""Whole runs of the pose model on short scenes."""

import numpy as np
import pytest

from formcheck.clips.types import Frame
from formcheck.landmarks.track import Joint
from formcheck.landmarks.track_clip import track_frames

pytestmark = pytest.mark.slow


def codes(track):
    return [problem.code for problem in track.problems]


def fatal(track):
    return [problem.code for problem in track.problems if problem.fatal]


def trunk_x(track):
    """(n,) middle of the shoulders."""
    return track.image_px[:, [Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER], 0].mean(axis=1)


@pytest.fixture(scope="module")
def alone(follow, pictures):
    return follow(pictures)


def test_one_person_is_followed_without_a_complaint(alone):
    assert alone.tracked.all()
    assert alone.problems == ()
    assert len(alone.bystanders.time_s) == 0
    assert (alone.width, alone.height, alone.model) == (360, 640, "lite")


def test_times_are_those_of_the_frames(alone):
    np.testing.assert_allclose(alone.time_s, np.arange(45) / 15)


def test_the_raised_wrist_is_where_the_clip_shows_it(alone):
    wrist = alone.image_px[:, Joint.RIGHT_WRIST, :2]
    shoulder = alone.image_px[:, Joint.RIGHT_SHOULDER, :2]
    assert wrist[0, 1] - shoulder[0, 1] > 80  # hanging
    assert wrist[30, 1] < shoulder[30, 1]  # up
    assert shoulder[30, 0] - wrist[30, 0] > 60  # out to the subject's right, left in the picture


def test_places_are_in_pixels_of_the_full_size_picture(bundle, pictures, alone):
    frames = (Frame(i / 15, picture) for i, picture in enumerate(pictures))
    large = track_frames(frames, bundle=bundle, width=1080, height=1920)
    np.testing.assert_allclose(large.image_px, alone.image_px * 3, rtol=1e-5, atol=1e-3)


def test_progress_is_told_the_time_of_each_frame(bundle, pictures):
    told = []
    frames = (Frame(i / 15, picture) for i, picture in enumerate(pictures[:3]))
    track_frames(frames, bundle=bundle, width=360, height=640, on_progress=told.append)
    assert told == [0, 1 / 15, 2 / 15]


def test_an_empty_room_has_nobody(follow, hall):
    track = follow([hall] * 45)
    assert not track.tracked.any()
    assert fatal(track) == ["nobody-in-view"]


def test_no_frames_at_all_is_a_clip_too_short(follow):
    assert fatal(follow([])) == ["too-short"]


def test_a_second_of_clip_is_too_short(follow, pictures):
    assert fatal(follow(pictures[:15])) == ["too-short"]


def test_the_dark_is_named_as_the_reason(follow, pictures):
    track = follow([picture // 20 for picture in pictures])
    assert codes(track) == ["nobody-in-view", "too-dark"]


def test_legs_alone_are_nobody(follow, pictures):
    track = follow([picture[370:] for picture in pictures])
    assert fatal(track) == ["nobody-in-view"]
    assert (track.problems[0].code, track.problems[0].form) == ("nobody-in-view", "ever")


def test_hips_outside_the_picture_are_told_and_not_believed(follow, pictures):
    track = follow([picture[60:300] for picture in pictures])
    assert "hips-out-of-view" in codes(track)
    hips = [Joint.LEFT_HIP, Joint.RIGHT_HIP]
    assert (track.visibility[track.tracked][:, hips] == 0).all()


def test_an_arm_that_leaves_the_picture_is_told(follow, pictures):
    track = follow([picture[:, 110:] for picture in pictures])
    assert "right" in [problem.params.get("arms") for problem in track.problems]


def test_the_larger_of_two_is_the_subject_on_either_side(follow, hall, put, pictures):
    for large_x, small_x in ((250, 650), (650, 250)):
        scene = [
            put(put(hall.copy(), picture, small_x, 0.75), picture, large_x, 1.1)
            for picture in pictures[:32]
        ]
        track = follow(scene)
        assert np.abs(trunk_x(track) - large_x).max() < 60
        found = track.bystanders.image_px[:, Joint.NOSE, 0]
        assert len(found) > 20
        assert np.abs(found - small_x).max() < 60
        (problem,) = track.problems
        assert problem.code == "somebody-else-in-view"
        assert problem.params["about"] == ("left" if large_x < small_x else "right")


def test_a_mirror_image_is_somebody_else(follow, hall, put, pictures):
    scene = [
        put(put(hall.copy(), picture[:, ::-1], 660, 0.8), picture, 250) for picture in pictures[:32]
    ]
    track = follow(scene)
    assert codes(track) == ["somebody-else-in-view"]
    assert np.abs(trunk_x(track) - 250).max() < 60


def test_of_two_alike_it_is_asked_who_is_meant_and_where_they_stand(follow, hall, put, pictures):
    scene = [put(put(hall.copy(), picture, 650, 0.9), picture, 250) for picture in pictures[:32]]
    (problem,) = follow(scene).problems
    assert (problem.code, problem.fatal) == ("who-is-meant", True)
    assert problem.params["people"] == 2
    assert problem.params["numbers"] == (1.0, 2.0)
    assert np.abs(np.array(problem.params["x_px"]) - (250, 650)).max() < 60
    chosen = follow(scene, person=2)
    assert np.abs(trunk_x(chosen) - 650).max() < 60
    assert codes(chosen) == ["somebody-else-in-view"]
    assert fatal(follow(scene, person=3)) == ["no-such-person"]


def test_a_passer_by_does_not_take_the_track_along(follow, hall, put, pictures):
    walk = np.linspace(-150, 1050, 60)  # 1.5 m/s for this size of person
    scene = [
        put(put(hall.copy(), pictures[abs(i - 40)], 450), pictures[0], x, 1.2)
        for i, x in enumerate([*[2000] * 20, *walk, *[2000] * 5])
    ]
    track = follow(scene)
    assert "somebody-else-in-view" in codes(track)
    assert np.nanmax(np.abs(trunk_x(track) - 450)) < 60
    assert track.tracked[:40].all()
    assert track.tracked[-15:].all()


def test_furniture_taken_for_a_person_is_dropped(follow, pictures):
    """A body that jumps about as no person does is not one, and that is what is said."""
    rng = np.random.default_rng(3)
    shaken = [np.roll(p, rng.integers(-14, 15, size=2), axis=(0, 1)) for p in pictures]
    track = follow(shaken)
    assert fatal(track) == ["not-followed"]
    assert track.problems[0].form == "one"


def test_an_error_while_reading_frames_passes_through(bundle, pictures):
    def broken():
        yield Frame(0.0, pictures[0])
        raise ValueError("the clip breaks off")

    with pytest.raises(ValueError, match="breaks off"):
        track_frames(broken(), bundle=bundle, width=360, height=640)
