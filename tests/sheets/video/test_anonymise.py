from dataclasses import replace

import numpy as np

from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.landmarks.track import Bystanders, Joint
from formcheck.sheets.video.anonymise import anonymise, head_circles


def detail(picture, centre, half=8):
    """How much fine detail is left around a place: mean step between neighbouring pixels."""
    x, y = int(centre[0]), int(centre[1])
    patch = picture[max(y - half, 0) : y + half, max(x - half, 0) : x + half].astype(float)
    return np.abs(np.diff(patch, axis=1)).mean()


def face(track, index):
    return track.image_px[index, Joint.NOSE, :2]


def test_the_head_is_veiled_and_the_working_parts_are_kept(frames, track):
    image = frames[30].image
    seen = anonymise(image, track, frames[30].time_s)
    assert detail(seen, face(track, 30)) < 0.1 * detail(image, face(track, 30))
    elbow = track.image_px[30, Joint.RIGHT_ELBOW, :2]
    assert detail(seen, elbow, half=3) > 0.9 * detail(image, elbow, half=3)


def test_the_room_and_whoever_is_in_it_are_veiled(frames, track):
    seen = anonymise(frames[0].image, track, 0.0)
    assert detail(seen, (16, 30)) < 0.2 * detail(frames[0].image, (16, 30))


def test_a_moment_without_a_pose_is_veiled_more_widely_where_the_head_was_last(frames, track):
    image_px = track.image_px.copy()
    image_px[20:60] = np.nan
    lost = replace(track, image_px=image_px)
    centre, radius = head_circles(track.image_px[19, :, :2])[0]
    seen = anonymise(frames[40].image, lost, frames[40].time_s)
    for angle in np.linspace(0, 2 * np.pi, 12):
        place = centre + 1.3 * radius * np.array([np.cos(angle), np.sin(angle)])
        assert detail(seen, place, half=4) < 0.25 * detail(frames[40].image, place, half=4)


def test_before_the_first_pose_the_next_known_place_is_veiled(frames, track):
    image_px = track.image_px.copy()
    image_px[:40] = np.nan
    seen = anonymise(frames[0].image, replace(track, image_px=image_px), 0.0)
    assert detail(seen, face(track, 40)) < 0.1 * detail(frames[0].image, face(track, 40))


def test_a_clip_in_which_nobody_was_found_is_veiled_all_over(frames, track):
    nobody = replace(track, image_px=np.full_like(track.image_px, np.nan))
    seen = anonymise(frames[0].image, nobody, 0.0)
    for place in ((90, 50), (65, 85), (30, 250), (150, 300)):
        assert detail(seen, place) < 0.2 * detail(frames[0].image, place)


def test_the_veil_follows_the_picture_at_any_scale(frames, track):
    large = np.repeat(np.repeat(frames[30].image, 3, axis=0), 3, axis=1)
    seen = anonymise(large, track, frames[30].time_s)
    assert detail(seen, 3 * face(track, 30), half=20) < 0.1 * detail(large, 3 * face(track, 30), 20)


def beside(track, shift_px):
    """The same body again, standing that far to the side of the subject, behind it."""
    return Bystanders(track.time_s, track.image_px[:, :, :2] + (shift_px, 0))


def test_the_head_of_somebody_close_behind_is_veiled_though_the_subject_is_kept(frames, track):
    image, time_s = frames[30].image, frames[30].time_s
    shoulder = track.image_px[30, Joint.LEFT_SHOULDER, :2]
    behind = replace(track, bystanders=beside(track, shoulder[0] - face(track, 30)[0]))
    place = shoulder + np.array([0, -8])
    assert detail(anonymise(image, track, time_s), place, half=4) > 0.5 * detail(
        image, place, half=4
    )
    assert detail(anonymise(image, behind, time_s), place, half=4) < 0.15 * detail(
        image, place, half=4
    )


def test_somebody_known_to_be_in_view_but_not_found_leaves_little_of_the_picture(frames, track):
    image, time_s = frames[30].image, frames[30].time_s
    bystanders = RecordingProblem(ProblemCode.SOMEBODY_ELSE_IN_VIEW, 0.0, 24.0)
    unsure = replace(track, problems=(bystanders,))
    above = track.image_px[30, Joint.LEFT_SHOULDER, :2] + np.array([4, -12])
    assert detail(anonymise(image, track, time_s), above, half=2) > 0.5 * detail(
        image, above, half=2
    )
    assert detail(anonymise(image, unsure, time_s), above, half=2) < 0.4 * detail(
        image, above, half=2
    )
    elbow = track.image_px[30, Joint.RIGHT_ELBOW, :2]
    assert detail(anonymise(image, unsure, time_s), elbow, 2) > 0.8 * detail(image, elbow, 2)


def test_landmarks_far_outside_the_picture_do_no_harm(frames, track):
    image_px = track.image_px.copy()
    image_px[:, Joint.LEFT_ANKLE, :2] = 1e9
    assert anonymise(frames[0].image, replace(track, image_px=image_px), 0.0).shape == (320, 180, 3)


def over_the_face(track, seen=1.0):
    """The right arm bent behind or before the head, the elbow right where the face is."""
    image_px = track.image_px.copy()
    place = face(track, 30)
    image_px[:, Joint.RIGHT_ELBOW, :2] = place
    for joint in (Joint.RIGHT_WRIST, Joint.RIGHT_INDEX):
        image_px[:, joint, :2] = place + np.array([0, -60])
    visibility = track.visibility.copy()
    visibility[:, Joint.RIGHT_ELBOW] = seen
    return replace(track, image_px=image_px, visibility=visibility)


def test_an_arm_that_the_veil_would_hide_is_drawn_over_it(frames, track):
    image, time_s = frames[30].image, frames[30].time_s
    plain = anonymise(image, track, time_s).astype(int)
    drawn = anonymise(image, over_the_face(track), time_s).astype(int)
    x, y = face(track, 30).astype(int)
    assert np.abs(drawn[y, x] - plain[y, x]).max() > 30
    assert np.abs(drawn[y, x] - drawn[y - 4, x]).max() <= 2  # a plain colour, nothing of a face


def test_an_arm_that_was_not_seen_is_not_drawn(frames, track):
    image, time_s = frames[30].image, frames[30].time_s
    hidden = over_the_face(track, seen=0.1)
    x, y = face(track, 30).astype(int)
    drawn = anonymise(image, over_the_face(track), time_s).astype(int)
    veiled = anonymise(image, hidden, time_s).astype(int)
    assert np.abs(drawn[y, x] - veiled[y, x]).max() > 30
