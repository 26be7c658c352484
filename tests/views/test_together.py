"""Measures of two cameras: exact where the motion is, and no surer than either view deserves."""

from dataclasses import replace

import numpy as np
import pytest

from formcheck.landmarks.track import Joint
from formcheck.measures.measure import measure_track
from formcheck.measures.table import Series, column_name
from formcheck.views.fuse import fused_table
from formcheck.views.join import join
from formcheck.views.together import measure_together, two_views
from tests.synthetic import Arm, constant, cycles
from tests.views.two_cameras import Phone, filmed

STATURE_M = 1.7
CURVE = {"up_s": 1.2, "top_s": 0.6, "down_s": 1.2}
RIGHT = Arm(
    elevation=cycles([1.5, 5.0, 8.3], 20, 95, **CURVE),
    plane=constant(35.0),
    rotation=constant(-20.0),
    elbow=cycles([1.5, 5.0, 8.3], 30, 90, **CURVE),
)
TRUE = {
    "shoulder_elevation": RIGHT.elevation,
    "plane_of_elevation": RIGHT.plane,
    "axial_rotation": RIGHT.rotation,
    "elbow_flexion": RIGHT.elbow,
}


@pytest.fixture(scope="module")
def tracks():
    return filmed(Phone(), Phone(yaw_deg=70), later_s=0.8, right=RIGHT)


@pytest.fixture(scope="module")
def tables(tracks):
    return tuple(measure_track(track) for track in tracks)


@pytest.fixture(scope="module")
def two(tracks):
    return two_views(join(*tracks), STATURE_M)


@pytest.mark.parametrize("measure", TRUE)
def test_exact_motion_gives_exact_angles(two, measure):
    value = two.values[column_name(measure, "right")]
    true = TRUE[measure](two.space.time_s)
    inner = slice(10, -10)  # the ends are smoothed with what lies on one side only
    assert np.abs(value - true)[inner].max() < 0.7


@pytest.mark.parametrize("lean_deg", [0.0, 9.0])
def test_leans_are_counted_from_the_vertical_of_two_level_phones(lean_deg):
    tracks = filmed(Phone(), Phone(yaw_deg=70), right=RIGHT, lean_left_deg=constant(lean_deg))
    found = two_views(join(*tracks), STATURE_M).values["trunk_lean_side_deg"]
    assert np.median(found) == pytest.approx(lean_deg, abs=0.3)


def test_every_angle_has_an_uncertainty_that_grows_where_a_camera_does_not_see_the_arm(tracks, two):
    front, side = tracks
    hidden = side.visibility.copy()
    hidden[:, [Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST]] = 0.2
    worse = two_views(join(front, replace(side, visibility=hidden), offset_s=-0.8), STATURE_M)
    for measure in TRUE:
        name = column_name(measure, "right")
        assert (two.sds[name] > 0.5).all()
        assert np.median(worse.sds[name]) > np.median(two.sds[name])


def test_the_table_stands_at_the_first_clips_times_and_knows_all_of_them(tracks, tables):
    found, fit = measure_together(tracks, tables, stature_m=STATURE_M)
    assert np.array_equal(found.time_s, tables[0].time_s)
    elbow = found.series("elbow_flexion", "right")
    assert np.isfinite(elbow.value).all()
    off = np.abs(elbow.value - RIGHT.elbow(found.time_s))
    assert np.mean(off < 2 * elbow.sd) > 0.95
    assert fit.angle_deg == pytest.approx(70, abs=0.1)
    assert fit.clock.offset_s == pytest.approx(-0.8, abs=0.002)
    assert 0 < fit.angle_uncertainty_deg < 30


def told(table, **changed):
    """The table with a constant value and uncertainty in some columns."""
    count = len(table.time_s)
    columns = {
        name: Series(np.full(count, value), np.full(count, sd))
        for name, (value, sd) in changed.items()
    }
    return replace(table, columns={**table.columns, **columns})


def test_a_view_counts_by_how_sure_it_is(tables, two):
    name = "elbow_flexion_right_deg"
    true = RIGHT.elbow(tables[0].time_s)
    both = (tables[0].time_s > 1) & (tables[0].time_s < 11.8)
    far = [
        told(table, **{name: (150.0, sd)}) for table, sd in zip(tables, (60.0, 80.0), strict=True)
    ]
    unsure = fused_table(*far, two).columns[name].value
    sure = fused_table(*(told(t, **{name: (150.0, 0.5)}) for t in tables), two).columns[name].value
    assert np.abs(unsure - true)[both].mean() < 5
    assert np.abs(sure - 150)[both].mean() < 3


def test_views_that_differ_are_told_with_a_larger_uncertainty(tables, two):
    name = "elbow_flexion_right_deg"
    sd = float(np.median(two.sds[name])) * 1.5
    at = int(np.argmax(RIGHT.elbow(tables[0].time_s)))
    agree, differ = (
        fused_table(*(told(t, **{name: (value, sd)}) for t in tables), two).columns[name].sd[at]
        for value in (90.0, 160.0)
    )
    assert differ > 2 * agree


def test_the_single_view_wins_where_the_hand_lies_on_the_other_shoulder():
    across = Arm(
        elevation=cycles([1.5, 5.0, 8.3], 20, 88, **CURVE),
        plane=constant(105.0),
        rotation=cycles([1.5, 5.0, 8.3], 0, 88, **CURVE),
        elbow=cycles([1.5, 5.0, 8.3], 20, 125, **CURVE),
    )
    tracks = filmed(Phone(), Phone(yaw_deg=70), right=across)
    tables = tuple(
        told(measure_track(track), shoulder_elevation_right_deg=(10.0, 5.0)) for track in tracks
    )
    found = fused_table(*tables, two_views(join(*tracks), STATURE_M))
    elevation = found.columns["shoulder_elevation_right_deg"].value
    top, rest = 2 * 30 + 30, 10
    assert elevation[top] == pytest.approx(10, abs=0.5)
    assert elevation[rest] > 11


def test_what_only_one_camera_saw_is_that_cameras_alone(tracks, tables):
    front, side = tracks
    kept = side.time_s < 7
    short = replace(
        side,
        time_s=side.time_s[kept],
        image_px=side.image_px[kept],
        world_m=side.world_m[kept],
        visibility=side.visibility[kept],
    )
    found, _ = measure_together(
        (front, short), (tables[0], measure_track(short)), stature_m=STATURE_M
    )
    later = found.time_s > 8.2
    for name, series in tables[0].columns.items():
        np.testing.assert_allclose(found.columns[name].value[later], series.value[later], atol=1e-9)
