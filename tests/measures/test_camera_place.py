"""How far away and how high the camera stands is told from who stands in the picture."""

from dataclasses import replace

import numpy as np
import pytest

from formcheck.landmarks.track import Joint
from formcheck.measures.camera_place import STEEPEST_DEG, USUAL_FOCAL, camera_place
from formcheck.measures.measure import measure_track
from tests.synthetic import PX_PER_M, make_track


def looked_at_from(track, elevation_deg):
    """The same track as a camera further up gives it, that looks down at the body."""
    down = np.radians(elevation_deg)
    c, s = np.cos(down), np.sin(down)
    world = track.world_m.copy()
    world[..., 1] = c * track.world_m[..., 1] - s * track.world_m[..., 2]
    world[..., 2] = s * track.world_m[..., 1] + c * track.world_m[..., 2]
    return replace(track, world_m=world)


@pytest.mark.parametrize("yaw_deg", [0.0, 45.0, -90.0, 180.0])
def test_who_is_half_as_large_is_twice_as_far_away(yaw_deg):
    near, far = (camera_place(make_track(yaw_deg=yaw_deg, scale=k))[0] for k in (1.0, 0.5))
    assert near == pytest.approx(USUAL_FOCAL * 1280 / PX_PER_M, rel=0.02)
    assert far == pytest.approx(2 * near, rel=0.01)


@pytest.mark.parametrize("yaw_deg", [0.0, 90.0])
def test_a_camera_that_is_put_up_higher_is_told_so(yaw_deg):
    track = make_track(yaw_deg=yaw_deg)
    low, high = (camera_place(looked_at_from(track, up))[1] for up in (0.0, 20.0))
    assert high - low > 15.0


def test_of_legs_that_are_not_seen_or_not_straight_no_height_is_told():
    track = make_track()
    hidden = track.visibility.copy()
    hidden[:, [Joint.LEFT_ANKLE, Joint.RIGHT_ANKLE]] = 0.1
    assert np.isnan(camera_place(replace(track, visibility=hidden))[1])
    sitting = track.world_m.copy()
    sitting[:, [Joint.LEFT_KNEE, Joint.RIGHT_KNEE]] += np.array([0.0, -0.3, -0.4], np.float32)
    assert np.isnan(camera_place(replace(track, world_m=sitting))[1])
    assert np.isnan(camera_place(looked_at_from(track, STEEPEST_DEG + 20.0))[1])


def test_of_nobody_nothing_is_told():
    track = make_track(duration_s=1.0)
    gone = np.full_like(track.image_px, np.nan)
    assert np.isnan(camera_place(replace(track, image_px=gone, world_m=gone))).all()


def test_the_view_of_a_clip_says_where_the_camera_stands():
    view = measure_track(make_track()).view
    assert (view.camera_distance_m, view.camera_elevation_deg) == camera_place(make_track())
