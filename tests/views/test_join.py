"""Two cameras that filmed one exact motion are joined without error, or refused with the reason."""

from dataclasses import replace

import numpy as np
import pytest

from formcheck.catalogue.codes import ProblemCode
from formcheck.landmarks.track import Joint
from formcheck.views.join import join
from formcheck.views.refusal import Refusal
from tests.synthetic import Arm, constant, cycles
from tests.views.two_cameras import Phone, filmed, rotation_angle_deg

PARTS = ("time_s", "image_px", "world_m", "visibility")
STARTS_S = [1.5, 5.0, 8.3]


def raising(starts_s=STARTS_S, **changed):
    curve = {"up_s": 1.2, "top_s": 0.6, "down_s": 1.2}
    return Arm(
        **{
            "elevation": cycles(starts_s, 8, 95, **curve),
            "plane": constant(35.0),
            "elbow": cycles(starts_s, 10, 60, **curve),
        }
        | changed
    )


FRONT, SIDE = Phone(pitch_deg=4), Phone(yaw_deg=70, pitch_deg=-3, roll_deg=2)


def true_rotation(front, side):
    return side.axes @ front.axes.T


@pytest.mark.parametrize("later_s", [0.0, 0.8, -1.7])
@pytest.mark.parametrize("side", [SIDE, Phone(yaw_deg=-50), Phone(yaw_deg=130, distance_m=4)])
def test_exact_motion_is_joined_without_error(later_s, side):
    joined = join(*filmed(FRONT, side, later_s=later_s, right=raising()))
    assert rotation_angle_deg(joined.rig.rotation.T @ true_rotation(FRONT, side)) < 0.05
    assert joined.clock.offset_s == pytest.approx(-later_s, abs=0.002)
    assert np.nanmax(joined.fit.residual) < 0.003
    assert np.abs(joined.windows).max() < 0.003


def test_lenses_other_than_the_usual_one_are_found_about():
    front, side = replace(FRONT, focal=0.86), replace(SIDE, focal=0.95, width=1280, height=720)
    joined = join(*filmed(front, side, right=raising()))
    assert rotation_angle_deg(joined.rig.rotation.T @ true_rotation(front, side)) < 1.0
    assert joined.rig.focal_px / 1280 == pytest.approx([0.86, 0.95], abs=0.04)


@pytest.mark.parametrize("rate_hz", [(30.0, 24.0), (25.0, 50.0)])
def test_cameras_need_not_have_one_frame_rate(rate_hz):
    joined = join(*filmed(FRONT, SIDE, later_s=0.5, rate_hz=rate_hz, right=raising()))
    assert joined.clock.offset_s == pytest.approx(-0.5, abs=0.004)


def test_a_clock_that_runs_fast_is_put_right():
    tracks = filmed(
        FRONT,
        SIDE,
        later_s=0.5,
        drift=0.003,
        duration_s=24,
        right=raising([1.5, 5.0, 8.3, 12.0, 15.2, 19.0]),
    )
    joined = join(*tracks)
    assert joined.clock.rate == pytest.approx(0.003, abs=0.0005)
    assert np.abs(joined.windows).max() < 0.01


def with_noise(track, rng, share):
    """Landmarks off by a constant of their own and by noise, each so much of a trunk's length."""
    size = 0.49 / 3 * 0.9 * 1280 * share
    image = track.image_px + rng.normal(0, size, track.image_px.shape[1:])
    return replace(track, image_px=image + rng.normal(0, size / 2, image.shape))


def test_landmarks_that_lie_off_the_joints_leave_the_cameras_nearly_right():
    rng = np.random.default_rng(4)
    front, side = (with_noise(one, rng, 0.03) for one in filmed(FRONT, SIDE, right=raising()))
    joined = join(front, side)
    assert rotation_angle_deg(joined.rig.rotation.T @ true_rotation(FRONT, SIDE)) < 12
    assert joined.clock.offset_s == pytest.approx(0, abs=0.02)


def exchanged(track, flags):
    """The track with left and right exchanged in the picture and in space."""
    order = np.arange(33)
    for joint in Joint:
        if joint.name.startswith("LEFT"):
            other = Joint[joint.name.replace("LEFT", "RIGHT")]
            order[joint], order[other] = other, joint
    return replace(
        track,
        image_px=np.where(flags[:, None, None], track.image_px[:, order], track.image_px),
        world_m=np.where(flags[:, None, None], track.world_m[:, order], track.world_m),
    )


def test_exchanged_sides_are_voted_right_in_whichever_camera_they_are():
    front, side = filmed(FRONT, SIDE, right=raising())
    flags = np.zeros(len(side.time_s), dtype=bool)
    flags[40:75] = flags[180:200] = flags[290:300] = True
    joined = join(front, exchanged(side, flags))
    assert not joined.exchanged[0].any()
    assert np.abs(joined.exchanged[1].sum() - flags.sum()) <= 6
    assert rotation_angle_deg(joined.rig.rotation.T @ true_rotation(FRONT, SIDE)) < 1


def test_an_arm_that_one_camera_does_not_see_is_placed_by_the_other():
    front, side = filmed(FRONT, SIDE, right=raising())
    visibility = side.visibility.copy()
    arm = [Joint.LEFT_ELBOW, Joint.LEFT_WRIST]
    visibility[:, arm] = 0.05
    image = side.image_px.copy()
    image[:, arm, :2] += 60.0
    joined = join(front, replace(side, visibility=visibility, image_px=image))
    assert rotation_angle_deg(joined.rig.rotation.T @ true_rotation(FRONT, SIDE)) < 4


def code_of(found):
    assert isinstance(found, Refusal)
    return found.code


def test_the_same_view_twice_is_refused():
    front, beside = filmed(FRONT, Phone(yaw_deg=5), right=raising())
    assert code_of(join(front, beside)) is ProblemCode.SAME_VIEW_TWICE
    assert code_of(join(front, front)) is ProblemCode.SAME_VIEW_TWICE


def test_too_little_in_common_is_refused():
    front, side = filmed(FRONT, SIDE, later_s=10.0, duration_s=12.0, right=raising())
    assert code_of(join(front, side)) is ProblemCode.TOO_LITTLE_IN_COMMON


def test_a_phone_that_was_moved_is_refused():
    front, side = filmed(FRONT, SIDE, right=raising())
    moved = filmed(FRONT, replace(SIDE, yaw_deg=100), right=raising())[1]
    half = len(side.time_s) // 2
    image = np.concatenate([side.image_px[:half], moved.image_px[half:]])
    world = np.concatenate([side.world_m[:half], moved.world_m[half:]])
    found = join(front, replace(side, image_px=image, world_m=world))
    assert code_of(found) is ProblemCode.VIEWS_DO_NOT_FIT
    assert found.one_set


def test_clips_that_were_recorded_at_other_times_by_their_files_are_refused():
    tracks = filmed(FRONT, SIDE, later_s=0.8, right=raising())
    for stated_s in (-200.0, 3600.0):
        found = join(*tracks, stated_s=stated_s)
        assert code_of(found) is ProblemCode.VIEWS_RECORDED_APART


def test_the_times_in_the_files_help_where_too_little_moves_to_tell_by_itself():
    once = raising([6.0])
    tracks = filmed(FRONT, SIDE, later_s=0.8, duration_s=9, right=once)
    short = [
        replace(one, **{name: getattr(one, name)[140:260] for name in PARTS}) for one in tracks
    ]
    short = [replace(one, time_s=one.time_s - one.time_s[0]) for one in short]
    assert code_of(join(*short)) is ProblemCode.VIEWS_NOT_TIMED
    assert join(*short, stated_s=0.9).clock.offset_s == pytest.approx(-0.8, abs=0.01)


def test_another_set_of_the_same_exercise_is_refused():
    front, _ = filmed(FRONT, SIDE, right=raising())
    _, side = filmed(FRONT, SIDE, right=raising([1.4, 4.5, 8.1]))
    assert isinstance(join(front, side), Refusal)


def test_another_exercise_in_the_same_time_is_refused():
    """The right arm keeps time to a hundredth of a second; only one of the clips raises the left one."""
    front, _ = filmed(FRONT, SIDE, right=raising())
    _, side = filmed(FRONT, SIDE, right=raising(), left=raising())
    refused = join(front, side)
    assert isinstance(refused, Refusal)
    assert refused.code in (ProblemCode.VIEWS_OF_OTHER_SETS, ProblemCode.VIEWS_DO_NOT_FIT)
    assert not refused.one_set


def test_a_body_that_does_not_move_cannot_be_timed_but_by_sound():
    still = filmed(FRONT, SIDE, right=Arm(elevation=constant(80.0)))
    assert code_of(join(*still)) is ProblemCode.VIEWS_NOT_TIMED
    assert join(*still, offset_s=0.0).clock.offset_s == pytest.approx(0, abs=0.05)


def test_an_offset_that_was_heard_but_that_the_movement_leads_away_from_is_refused():
    tracks = filmed(FRONT, SIDE, later_s=0.5, right=raising())
    assert join(*tracks, offset_s=-0.48).clock.offset_s == pytest.approx(-0.5, abs=0.005)
    assert isinstance(join(*tracks, offset_s=0.4), Refusal)
