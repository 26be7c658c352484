"""Who is the subject, from tracklets of people followed."""

import numpy as np
import pytest

from formcheck.landmarks.body import body_of, paint_over
from formcheck.landmarks.person_tracker import Tracklet
from formcheck.landmarks.pose import Pose
from formcheck.landmarks.steadiness import is_person, unsteadiness, unsteady_frames
from formcheck.landmarks.subject import moves, select_subject
from formcheck.landmarks.track import Joint

SIZE = (640, 360)


def person(
    start_s,
    end_s,
    x=0.5,
    height=0.6,
    colour=100,
    moving=True,
    shake=0.0,
    width=0.0,
    reach=0.1,
    arm=Joint.RIGHT_WRIST,
    bounce=0.0,
):
    """A tracklet of a plain person, 15 poses a second, whose hand goes up and down."""
    image = np.full((SIZE[1], SIZE[0], 3), colour, dtype=np.uint8)
    rng = np.random.default_rng(0)
    tracklet = Tracklet()
    for index in range(round(start_s * 15), round(end_s * 15) + 1):
        points = np.zeros((33, 3))
        points[:, 0] = x + width * np.linspace(-0.5, 0.5, 33)
        points[:, 1] = np.linspace(0.2, 0.2 + height, 33)
        points[[Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER], 1] = 0.2 + height * 0.2
        points[[Joint.LEFT_HIP, Joint.RIGHT_HIP], 1] = 0.2 + height * 0.5
        points[arm, 1] += reach * np.sin(index / 5) if moving else 0.0
        points[:, 1] += bounce * np.sin(2 * np.pi * 2 * index / 15)
        points[:, :2] += rng.normal(scale=shake, size=2)
        pose = Pose(points, np.zeros((33, 3)), np.ones(33))
        tracklet.add(index, index / 15, pose, body_of(pose, image))
    return tracklet


def test_of_two_who_do_the_same_the_one_who_is_clearly_larger_is_the_subject():
    small, large = person(0, 10, 0.2, 0.4, reach=0.07), person(0, 10, 0.8, 0.7)
    selection = select_subject([small, large])
    assert selection.subject == (large,)
    assert selection.bystanders == (small,)
    assert not selection.unclear


def test_the_subject_is_who_does_the_exercise_not_who_stands_nearest():
    client, helper = person(0, 10, 0.3, 0.4), person(0, 10, 0.7, 0.8, reach=0.01)
    selection = select_subject([client, helper])
    assert (selection.subject, selection.unclear) == ((client,), False)
    assert selection.bystanders == (helper,)


def test_of_two_who_do_the_same_side_by_side_it_is_left_open_who_is_meant():
    left, right = person(0, 10, 0.3), person(0, 10, 0.7, reach=0.12, arm=Joint.LEFT_ELBOW)
    assert select_subject([right, left]).unclear
    for number, chosen in ((1, left), (2, right)):
        selection = select_subject([right, left], number)
        assert (selection.subject, selection.unclear) == ((chosen,), False)
    assert select_subject([right, left], 3).subject == ()
    assert select_subject([right, left]).people == ((left,), (right,))


def test_a_mirror_image_is_not_somebody_who_may_be_meant():
    client = person(0, 10, 0.3, 0.6, arm=Joint.RIGHT_WRIST)
    image = person(0, 10, 0.7, 0.5, reach=0.083, arm=Joint.LEFT_WRIST)
    selection = select_subject([client, image])
    assert (selection.subject, selection.unclear) == ((client,), False)


def test_a_bystander_can_be_chosen_by_number():
    client, helper = person(0, 10, 0.3, 0.4), person(0, 10, 0.7, 0.8, reach=0.01)
    assert select_subject([client, helper], 2).subject == (helper,)


def test_who_stays_longer_is_the_subject():
    stays, passes = person(0, 10, 0.2), person(0, 3, 0.8, 0.7)
    assert select_subject([passes, stays]).subject == (stays,)


def test_tracklets_of_one_person_are_joined_across_a_passer_by():
    before, after, passer = person(0, 4), person(5, 9), person(3, 6, x=0.9, height=0.7)
    selection = select_subject([passer, after, before])
    assert selection.subject == (before, after)
    assert selection.bystanders == (passer,)


@pytest.mark.parametrize(
    "other",
    [
        person(5, 7, x=0.95),  # elsewhere a moment later
        person(5, 7, height=0.3),  # another size
        person(5, 7, colour=190),  # another shirt
        person(3, 7),  # at the same time
    ],
    ids=["elsewhere", "size", "shirt", "together"],
)
def test_somebody_else_is_not_joined(other):
    main = person(0, 4.5)
    assert select_subject([main, other]).subject == (main,)


def test_the_subject_may_leave_and_come_back_elsewhere():
    before, after = person(0, 5, x=0.3), person(8, 12, x=0.6)
    assert select_subject([before, after]).subject == (before, after)


def test_the_subject_close_to_the_camera_is_neither_measured_nor_somebody_else():
    at_camera, exercising = person(0, 1.5, height=0.79), person(3, 12, height=0.4)
    selection = select_subject([at_camera, exercising])
    assert (selection.subject, selection.bystanders) == ((exercising,), ())


@pytest.mark.parametrize(
    ("aside", "alone"), [(0.02, True), (0.4, False)], ids=["seen twice", "beside each other"]
)
def test_one_body_seen_twice_is_nobody_else(aside, alone):
    lying = person(0, 12, x=0.4, height=0.3, width=0.4)
    twin = person(2, 12, x=0.4 + aside, height=0.25, width=0.35, colour=190)
    selection = select_subject([twin, lying])
    assert selection.subject == (lying,)
    assert selection.bystanders == (() if alone else (twin,))


def test_smooth_movement_at_a_low_rate_is_not_unsteady():
    tracklet = person(0, 20)
    slow = Tracklet()
    for i in range(0, 300, 3):
        body = tracklet.bodies[i]
        body.trunk[:] += 30 * np.sin(i / 15 * np.pi)
        slow.add(i // 3, i / 15, tracklet.poses[i], body)
    assert select_subject([slow]).subject == (slow,)


def test_a_picture_on_the_wall_is_not_the_subject():
    poster, client = person(0, 10, 0.2, 0.8, moving=False), person(2, 10, 0.7, 0.4)
    assert not moves(poster)
    assert select_subject([poster, client]).subject == (client,)


def test_a_body_that_jumps_about_is_nobody():
    furniture = person(0, 10, shake=0.02)
    assert np.median(unsteadiness(furniture)) > 0.01
    assert select_subject([furniture]).subject == ()


def test_who_moves_fast_but_smoothly_is_a_person():
    """Jumping twice a second: second differences beyond those of furniture, fourth ones small."""
    fast = person(0, 10, bounce=0.02)
    assert 0.008 < np.median(unsteadiness(fast)) < 0.02
    assert is_person(fast)
    assert not unsteady_frames(fast, np.arange(151) / 15).any()


def test_noise_as_large_as_fast_movement_is_nobody():
    noise = person(0, 10, shake=0.0018)
    assert 0.008 < np.median(unsteadiness(noise)) < 0.02
    assert not is_person(noise)
    assert unsteady_frames(noise, np.arange(151) / 15).mean() > 0.8


def test_half_a_second_is_too_short_to_tell_fast_movement_from_noise():
    assert not is_person(person(0, 0.8, bounce=0.02))


def test_a_glimpse_is_nobody():
    selection = select_subject([person(0, 0.3)])
    assert selection.subject == selection.bystanders == ()


def test_hips_outside_the_picture_do_not_make_a_body_unsteady():
    tracklet = person(0, 4)
    rng = np.random.default_rng(0)
    for pose, body in zip(tracklet.poses, tracklet.bodies, strict=True):
        pose.image[[Joint.LEFT_HIP, Joint.RIGHT_HIP], 1] = 1.3
        body.trunk[1] += rng.normal(scale=20, size=2)
    assert np.median(unsteadiness(tracklet)) < 0.001


def test_others_are_painted_over_but_not_where_they_cover_the_subject():
    image = np.zeros((SIZE[1], SIZE[0], 3), dtype=np.uint8)
    image[:, :, 0] = np.arange(SIZE[0]) % 256
    subject, other = person(0, 1, x=0.5).bodies[0], person(0, 1, x=0.55).bodies[0]
    hidden = paint_over(image, [other], subject)
    changed = np.flatnonzero((hidden != image).any(axis=(0, 2)))
    assert changed.min() > subject.box[2]
    assert other.box[0] < changed.max() < 0.7 * SIZE[0]
    assert paint_over(image, [], subject) is image
