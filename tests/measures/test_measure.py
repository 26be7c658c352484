"""Exact synthetic motion in, its own angles out; and what must not change a measure.

Geometry is exact on a stick figure. The learned estimate corrects errors that a stick figure does
not have, so what leaves the package is held to its own uncertainty instead.
"""

from dataclasses import replace

import numpy as np
import pytest

from formcheck.catalogue.codes import ProblemCode, ReasonCode
from formcheck.catalogue.measures import MEASURES
from formcheck.catalogue.problems import RecordingProblem
from formcheck.catalogue.views import MeasuredView
from formcheck.landmarks.track import Joint
from formcheck.measures.angles import angle_between_deg
from formcheck.measures.girdle import LEARNED_RISE_GAIN
from formcheck.measures.measure import measure_track
from formcheck.measures.posture import posture_from
from formcheck.measures.registry import arm_series, girdle_series, trunk_series
from formcheck.measures.table import SIDES, Series, column_name
from tests.synthetic import (
    FOREARM_M,
    TRUNK_M,
    UPPER_ARM_M,
    Arm,
    constant,
    cycles,
    make_track,
)


def raised(plane=0.0, top=110.0):
    return Arm(
        elevation=cycles([1.0, 5.0], 8, top, up_s=1.5, top_s=0.5, down_s=1.5),
        plane=constant(plane),
    )


def geometry(track, side="right"):
    """Geometric measures of one arm, before the learned estimate joins them."""
    posture = posture_from(track)
    arm = arm_series(posture, side)
    return arm | girdle_series(posture, side, trunk_series(posture) | arm)


def middle(table, measure, side=None):
    value = table.series(measure, side).value
    return value[np.isfinite(value)]


def test_every_promised_column_is_there_with_an_uncertainty_wherever_it_has_a_value():
    table = measure_track(make_track(right=raised()))
    for row in MEASURES.values():
        if not row.over_time:
            continue
        for side in SIDES if row.sided else (None,):
            series = table.columns[column_name(row.name, side)]
            assert series.value.shape == table.time_s.shape
            known = np.isfinite(series.value)
            assert np.isfinite(series.sd[known]).all()
            assert (series.sd[known] > 0).all()
            assert not np.isfinite(series.sd[~known]).any()


def test_elevation_of_a_side_raise_from_the_front_is_exact():
    arm = raised()
    track = make_track(right=arm)
    read, truth = geometry(track), arm.elevation(track.time_s)
    assert np.abs(read["shoulder_elevation"].value - truth).max() < 1.0
    assert np.abs(read["upper_arm_to_vertical"].value - truth).max() < 1.0


def test_what_leaves_the_room_agrees_with_the_truth_within_its_uncertainty():
    arm = raised()
    table = measure_track(make_track(right=arm))
    series = table.series("shoulder_elevation", "right")
    inside = np.abs(series.value - arm.elevation(table.time_s)) < 2 * series.sd
    assert inside.mean() > 0.9


def test_the_other_arm_stays_where_it_hangs():
    read = geometry(make_track(right=raised()), "left")
    assert np.abs(read["shoulder_elevation"].value - 8.0).max() < 1.0


@pytest.mark.slow
@pytest.mark.parametrize("yaw", [0, 30, 60, 90, 135, 180, -45, -90])
def test_view_is_found(yaw):
    view = measure_track(make_track(yaw_deg=yaw)).view
    assert np.cos(np.radians(view.yaw_deg - yaw)) > np.cos(np.radians(1.0))
    assert view.name == MeasuredView.at_yaw(yaw)
    assert view.uncertainty_deg > 0


@pytest.mark.parametrize(("yaw", "rotation"), [(0, 40), (0, -60), (45, 0), (90, 30)])
def test_axial_rotation_and_plane_in_space(yaw, rotation):
    arm = Arm(constant(70), constant(40), constant(rotation), constant(90))
    read = geometry(make_track(right=arm, yaw_deg=yaw))
    assert np.median(read["axial_rotation"].value) == pytest.approx(rotation, abs=1)
    assert np.median(read["plane_of_elevation"].value) == pytest.approx(40, abs=1)
    elbow = read["elbow_flexion"]
    assert (np.abs(elbow.value - 90) < 2 * elbow.sd).all()


@pytest.mark.parametrize("plane", [60, -60])
def test_an_elbow_ahead_of_the_body_or_behind_it_is_told_of_an_arm_that_hardly_leaves_the_side(
    plane,
):
    arm = Arm(constant(20), constant(plane), constant(50), constant(90))
    read = geometry(make_track(right=arm, yaw_deg=60))["upper_arm_forward"]
    truth = np.degrees(np.arcsin(np.sin(np.radians(20)) * np.sin(np.radians(plane))))
    assert np.median(read.value) == pytest.approx(truth, abs=1)


def test_axial_rotation_is_withheld_with_a_straight_elbow_and_says_why():
    table = measure_track(make_track(right=Arm(elbow=constant(5.0))))
    assert not np.isfinite(table.series("axial_rotation", "right").value).any()
    assert table.gaps["axial_rotation_right_deg"][0].reason == ReasonCode.NO_ROTATION


def test_plane_of_elevation_is_withheld_while_the_arm_hangs():
    table = measure_track(make_track(right=Arm(elevation=constant(10.0))))
    assert not np.isfinite(table.series("plane_of_elevation", "right").value).any()


@pytest.mark.slow
@pytest.mark.parametrize("lean", [12.0, -12.0])
def test_side_lean_is_positive_to_the_subjects_left_from_front_and_back(lean):
    for yaw in (0.0, 180.0):
        track = make_track(lean_left_deg=constant(lean), yaw_deg=yaw)
        exact = trunk_series(posture_from(track))["trunk_lean_side"]
        assert np.nanmedian(exact.value) == pytest.approx(lean, abs=0.5)
        read = measure_track(track).series("trunk_lean_side")
        assert np.sign(np.nanmedian(read.value)) == np.sign(lean)
        assert np.nanmedian(read.value) == pytest.approx(lean, abs=2 * np.nanmedian(read.sd))


@pytest.mark.parametrize("shown_deg", [6.0, -6.0])
def test_a_turn_is_told_whole_and_coarsely_as_the_landmarks_show_a_third_of_it(shown_deg):
    track = make_track()
    world = track.world_m.copy()
    shoulders = [Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER]
    middle = world[:, shoulders].mean(axis=1, keepdims=True)
    c, s = np.cos(np.radians(shown_deg)), np.sin(np.radians(shown_deg))
    about_vertical = np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]])
    world[:, shoulders] = middle + (world[:, shoulders] - middle) @ about_vertical.T
    turn = trunk_series(posture_from(replace(track, world_m=world)))["trunk_turn"]
    assert np.abs(np.nanmedian(turn.value)) == pytest.approx(6.0 / 0.37, abs=0.5)
    assert np.nanmin(turn.sd) > 15


@pytest.mark.parametrize("elevation", [10.0, 90.0, 130.0])
def test_a_shoulder_that_stays_where_it_began_is_no_hike_however_high_the_arm_began(elevation):
    read = geometry(make_track(right=Arm(elevation=constant(elevation))))["hike"]
    assert np.nanmax(np.abs(read.value)) < 0.5


def test_a_rise_counted_from_a_short_baseline_is_less_sure():
    raised_at_once, later = (
        geometry(
            make_track(
                right=Arm(elevation=cycles([start], 8.0, 80.0, up_s=0.5, top_s=2.0, down_s=1.0))
            )
        )
        for start in (0.4, 2.5)
    )
    assert np.nanmin(raised_at_once["hike"].sd) > 1.3 * np.nanmin(later["hike"].sd)


def test_a_raised_shoulder_is_a_hike_and_a_leaning_trunk_is_not():
    rise = cycles([2.5], 0.0, 0.03, up_s=1.0, top_s=2.0, down_s=1.0)
    assert np.nanmax(geometry(make_track(hike_right_m=rise))["hike"].value) > 2.0
    lean = cycles([2.5], 0.0, 15.0, up_s=1.0, top_s=2.0, down_s=1.0)
    leaning = geometry(make_track(lean_left_deg=lean))
    assert np.nanmax(np.abs(leaning["hike"].value)) < 0.5


@pytest.mark.slow
def test_mirroring_the_recording_swaps_left_and_right():
    arm = raised(plane=35)
    right = measure_track(make_track(right=arm, yaw_deg=20))
    left = measure_track(make_track(left=arm, yaw_deg=-20))
    for measure in ("shoulder_elevation", "elbow_flexion", "plane_of_elevation", "hike"):
        np.testing.assert_allclose(
            right.series(measure, "right").value, left.series(measure, "left").value, atol=1e-3
        )


@pytest.mark.slow
def test_size_in_the_picture_changes_less_than_the_uncertainty():
    near = measure_track(make_track(right=raised(35), scale=1.0))
    far = measure_track(make_track(right=raised(35), scale=0.4))
    for name, series in near.columns.items():
        both = np.isfinite(series.value) & np.isfinite(far.columns[name].value)
        if not both.any():
            continue
        apart = np.abs(series.value - far.columns[name].value)[both]
        assert (apart <= 2 * series.sd[both]).mean() >= 0.95, name


@pytest.mark.slow
def test_frame_rate_changes_nothing_of_note():
    slow = measure_track(make_track(right=raised(), rate_hz=24))
    fast = measure_track(make_track(right=raised(), rate_hz=60))
    value = np.interp(slow.time_s, fast.time_s, fast.series("shoulder_elevation", "right").value)
    assert np.abs(value - slow.series("shoulder_elevation", "right").value).max() < 1.0


def test_a_hike_is_the_mean_of_what_the_picture_and_the_networks_show():
    posture = posture_from(
        make_track(hike_right_m=cycles([2.5], 0.0, 0.03, up_s=1.0, top_s=2.0, down_s=1.0))
    )
    of_arm = trunk_series(posture) | arm_series(posture, "right")
    picture = girdle_series(posture, "right", of_arm)["hike"].value
    percent = np.where(posture.time_s > 4, 2.0, 0.0)
    learned = 2.0 / 100 * posture.trunk_cm * LEARNED_RISE_GAIN * (posture.time_s > 4)
    rise = {"rise": Series(percent, np.ones(len(percent)))}
    both = girdle_series(posture, "right", of_arm | rise)["hike"].value
    np.testing.assert_allclose(both, (picture + learned) / 2, atol=1e-9)
    unread = {"rise": Series(percent * np.nan, percent * np.nan)}
    alone = girdle_series(posture, "right", of_arm | unread)["hike"].value
    np.testing.assert_allclose(alone, picture)


@pytest.mark.slow
def test_walking_is_marked_as_moving_about_and_exercise_is_not():
    walking = measure_track(make_track(travel_m=lambda t: np.clip(t - 5, 0, 2) * 0.8))
    assert walking.moving_about[160:190].all()
    assert not walking.moving_about[:120].any()
    assert not measure_track(make_track(right=raised())).moving_about.any()


@pytest.mark.slow
def test_stature_scales_centimetres_and_nothing_else():
    rise = cycles([2.5], 0.0, 0.03, up_s=1.0, top_s=2.0, down_s=1.0)
    track = make_track(hike_right_m=rise)
    tall, short = (measure_track(track, stature_m=s) for s in (1.9, 1.52))
    ratio = np.nanmax(tall.series("hike", "right").value) / np.nanmax(
        short.series("hike", "right").value
    )
    assert ratio == pytest.approx(1.9 / 1.52, rel=0.01)
    np.testing.assert_allclose(
        tall.series("shoulder_elevation", "right").value,
        short.series("shoulder_elevation", "right").value,
    )


@pytest.mark.parametrize(
    ("yaw", "true", "shown"),
    [(10, 45, 44.6), (20, 60, 58.4), (30, 45, 40.9), (30, 120, 123.7), (45, 45, 35.3),
     (45, 90, 90.0), (60, 60, 40.9), (60, 150, 163.9)],
)  # fmt: skip
def test_a_turned_body_shows_the_angle_that_foreshortening_gives(yaw, true, shown):
    """tan(shown) = tan(true) cos(turn): geometry that anyone can recompute."""
    figure = make_track(right=Arm(constant(true), constant(0.0)), yaw_deg=yaw, duration_s=1)
    posture = posture_from(figure)
    arm = posture.image_of("elbow", "right") - posture.image_of("shoulder", "right")
    down = np.broadcast_to([0.0, 1.0], arm.shape)
    assert np.median(angle_between_deg(arm, down)) == pytest.approx(shown, abs=0.1)


def test_centimetres_rest_on_published_body_proportions():
    """Trunk 0.288, upper arm 0.186, forearm 0.146 of stature (Drillis & Contini 1966, as cited in
    Winter, Biomechanics and Motor Control of Human Movement): a wrist hanging level with the hip's
    own height reads what the proportions say."""
    stature_m = 1.70
    figure = make_track(right=Arm(elevation=constant(0.0), elbow=constant(0.0)), duration_s=2)
    height = measure_track(figure, stature_m=stature_m).series("hand_height", "right").value
    trunk_cm = 0.288 * stature_m * 100
    drawn = (TRUNK_M - UPPER_ARM_M - FOREARM_M) / TRUNK_M
    assert np.nanmedian(height) == pytest.approx(drawn * trunk_cm, abs=0.3)


def test_a_hidden_face_makes_everything_less_sure_and_changes_no_value():
    track = make_track(right=Arm(elevation=constant(70.0), elbow=constant(40.0)))
    hidden = replace(track, problems=(RecordingProblem(ProblemCode.FACE_HIDDEN),))
    seen, unsure = measure_track(track), measure_track(hidden)
    for name, series in seen.columns.items():
        np.testing.assert_array_equal(unsure.columns[name].value, series.value)
        known = np.isfinite(series.sd)
        assert (unsure.columns[name].sd[known] > series.sd[known]).all()
