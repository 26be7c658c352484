"""A camera that is tilted sideways is told from how people stand, and undone."""

from dataclasses import replace

import numpy as np
import pytest

from formcheck.measures.camera_place import ELEVATION_SD_DEG
from formcheck.measures.levelling import (
    camera_roll_deg,
    level_sd_deg,
    levelled,
    roll_sd_deg,
)
from formcheck.measures.measure import measure_track
from tests.synthetic import Arm, constant, cycles, make_track

RAISE = Arm(
    elevation=cycles([1.0, 5.0], 8, 110, up_s=1.5, top_s=0.5, down_s=1.5), plane=constant(10.0)
)


def tilted(track, roll_deg):
    """The same scene by a camera that shows everything tilted clockwise by ``roll_deg``."""
    a = np.radians(roll_deg)
    turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    centre = np.array([track.width / 2, track.height / 2])
    image, world = track.image_px.copy(), track.world_m.copy()
    image[:, :, :2] = (image[:, :, :2] - centre) @ turn.T + centre
    world[:, :, :2] = world[:, :, :2] @ turn.T
    return replace(track, image_px=image, world_m=world)


@pytest.mark.parametrize("yaw", [0, 40, 180])
@pytest.mark.parametrize("roll", [-26.0, -8.0, 13.0])
def test_roll_is_found_and_undone(roll, yaw):
    level = make_track(right=RAISE, yaw_deg=yaw)
    track, found = levelled(tilted(level, roll))
    assert found == pytest.approx(roll, abs=0.5)
    np.testing.assert_allclose(track.image_px, level.image_px, atol=4.0)
    np.testing.assert_allclose(track.world_m, level.world_m, atol=0.01)


@pytest.mark.slow
def test_a_tilted_camera_changes_no_measure_but_how_sure_the_vertical_is():
    level = measure_track(make_track(right=RAISE))
    table = measure_track(tilted(make_track(right=RAISE), 13.0))
    for measure, side in (("shoulder_elevation", "right"), ("trunk_lean_side", None)):
        one, other = level.series(measure, side), table.series(measure, side)
        assert np.nanmax(np.abs(one.value - other.value)) < 1.0
    sds = [t.series("trunk_lean_side").sd for t in (level, table)]
    assert np.nanmedian(sds[1]) == pytest.approx(np.hypot(np.nanmedian(sds[0]), 3.0), rel=0.1)
    (problem,) = table.problems
    assert (problem.code, problem.fatal) == ("camera-tilted", False)
    assert problem.params == {"roll_deg": 13, "side": "left"}
    assert level.problems == ()


@pytest.mark.parametrize(
    "track",
    [
        make_track(lean_left_deg=constant(15.0)),  # the trunk leans, the legs do not
        tilted(make_track(), 4.0),
        tilted(make_track(yaw_deg=90), 15.0),  # from the side this may be leaning forward
    ],
    ids=["leaning", "nearly level", "from the side"],
)
def test_leaning_is_no_roll(track):
    same, roll = levelled(track)
    assert roll == 0.0
    assert same is track


@pytest.mark.parametrize(
    ("track", "unsure_deg"),
    [
        (tilted(make_track(yaw_deg=90), 15.0), 15.0),
        (tilted(make_track(yaw_deg=-90), -15.0), 15.0),
        (tilted(make_track(yaw_deg=90), 4.0), 0.0),
        (tilted(make_track(), 15.0), 3.0),
    ],
)
def test_whether_somebody_seen_from_the_side_leans_or_the_camera_does_is_not_known(
    track, unsure_deg
):
    track, roll_deg = levelled(track)
    assert roll_sd_deg(track, roll_deg) == pytest.approx(unsure_deg, abs=0.5)


def test_nothing_is_known_of_a_camera_that_shows_no_legs():
    track = make_track()
    hidden = track.visibility.copy()
    hidden[:, 25:] = 0.0
    assert np.isnan(camera_roll_deg(replace(tilted(track, 12.0), visibility=hidden)))


def looking_down(track, pitch_deg):
    """The same scene in space by a camera that looks down at it (up: negative)."""
    a = np.radians(pitch_deg)
    turn = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    return replace(track, world_m=track.world_m @ turn.T.astype(np.float32))


def test_a_lean_along_the_line_of_sight_is_less_sure_from_above():
    yaw, leans = np.array([0.0, 90.0, 90.0, 90.0]), np.array([20.0, 20.0, -5.0, 0.0])
    steep = np.hypot(24.0, ELEVATION_SD_DEG)
    side = level_sd_deg("trunk_lean_side", leans, 0.0, 24.0, yaw)
    assert side == pytest.approx(
        [0.0, steep, steep / 2, 0.0]
    )  # nobody doubts that who stands, stands
    forward = level_sd_deg("trunk_lean_forward", leans, 0.0, 24.0, yaw)
    assert forward == pytest.approx([steep, 0.0, 0.0, 0.0])
    level = level_sd_deg("trunk_lean_side", leans, 0.0, 5.0, yaw)
    unknown = level_sd_deg("trunk_lean_side", leans, 0.0, np.nan, yaw)
    assert [*level, *unknown] == pytest.approx([0.0] * 8)


@pytest.mark.slow
def test_the_client_of_a_camera_that_looks_down_or_up_is_told():
    for pitch, told in ((35.0, ["down"]), (8.0, []), (-10.0, ["up"])):
        problems = measure_track(looking_down(make_track(right=RAISE), pitch)).problems
        assert [one.form for one in problems if one.code == "camera-pitched"] == told
        assert not any(one.fatal for one in problems)
