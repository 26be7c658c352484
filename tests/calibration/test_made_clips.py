"""The generator tells the truth: its arm angles are those that formcheck means, and nothing is lost."""

import numpy as np
import pytest

from formcheck.measures.angles import axial_rotation_deg, elevation_deg, plane_of_elevation_deg
from models.calibration.body import LATERAL, Y, Z, arm_vectors
from models.calibration.cameras import Camera
from models.calibration.dataset import FITTED, SCALED_ON
from models.calibration.people import PEOPLE
from models.calibration.rotations import rotate, swing
from models.calibration.scenes import FREE, PAIR_SETS, SETS, bodies_of
from models.calibration.shards import KEPT, Clip, read_shard, write_shard
from models.calibration.truth import COLUMNS

POSTURES = np.array(
    [
        [40.0, 30.0, 10.0, 90.0, 0.0],
        [90.0, 0.0, 85.0, 80.0, 0.0],
        [120.0, 90.0, -40.0, 30.0, 0.0],
        [60.0, -40.0, -90.0, 100.0, 0.0],
    ]
)


@pytest.mark.parametrize("side", ["L", "R"])
def test_made_arm_angles_are_what_the_measures_read(side):
    arm = arm_vectors(side, POSTURES)
    axes = np.stack([LATERAL[side], -Y, Z])
    upper, fore = arm.upper @ axes.T, arm.fore @ axes.T
    assert elevation_deg(upper) == pytest.approx(POSTURES[:, 0], abs=1e-6)
    assert plane_of_elevation_deg(upper) == pytest.approx(POSTURES[:, 1], abs=1e-6)
    # Made clips count external rotation as positive, the measures internal.
    assert axial_rotation_deg(upper, fore) == pytest.approx(-POSTURES[:, 2], abs=1e-6)
    bend = np.degrees(np.arccos(np.sum(upper * fore, axis=1)))
    assert bend == pytest.approx(POSTURES[:, 3], abs=1e-6)


def test_swing_takes_one_direction_to_the_other():
    start, end = np.array([[0.0, 0.0, -1.0]]), np.array([[0.6, -0.8, 0.0]])
    assert (swing(start, end) @ start[0])[0] == pytest.approx(end[0])


def test_a_quarter_turn_about_the_vertical_brings_left_to_back():
    assert (rotate(Z, np.array([90.0])) @ np.array([1.0, 0, 0]))[0] == pytest.approx([0, 1, 0])


def test_the_clip_matrix_and_the_projection_agree():
    axes = np.array([[1.0, 0, 0], [0, 0, -1], [0, 1, 0]])
    camera = Camera(np.array([0.2, -3.0, 1.1]), axes, 60.0, 360, 640)
    point = np.array([0.5, 0.3, 1.7])
    x, y, _, w = camera.clip_matrix() @ np.append(point, 1)
    expected = [(x / w + 1) / 2 * 360, (1 - y / w) / 2 * 640]
    assert camera.project(point) == pytest.approx(expected)


def test_a_shard_gives_back_what_was_written_and_keeps_the_unknown(tmp_path):
    rng = np.random.default_rng(4)
    truth = rng.uniform(-0.9, 0.9, (50, len(COLUMNS)))
    image, world = rng.uniform(0, 640, (50, len(KEPT), 2)), rng.uniform(-1, 1, (50, len(KEPT), 3))
    image[10:12], truth[:, COLUMNS.index("lean_side")] = np.nan, np.nan
    places = rng.uniform(-3, 9, world.shape)
    clip = Clip({"index": 7}, image, world, rng.uniform(0, 1, (50, len(KEPT))), places, truth)
    write_shard(tmp_path / "a.npz", [clip, clip])
    back = read_shard(tmp_path / "a.npz")[1]
    assert back.about == {"index": 7}
    np.testing.assert_allclose(back.image, image, atol=0.07)
    np.testing.assert_allclose(back.world, world, atol=3e-4)
    np.testing.assert_allclose(back.places, places, atol=6e-4)
    np.testing.assert_allclose(back.truth, truth, atol=6e-3)


def test_everybody_is_in_one_set_alone_and_nobody_is_there_twice():
    shown = [name for set_name in SETS.keys() - set(FREE) for name in bodies_of(set_name)]
    assert sorted(shown) == sorted(person.name for person in PEOPLE)
    assert len(set(shown)) == len({tuple(person.shape.values()) for person in PEOPLE}) == len(shown)
    judged = {"judge", "fresh-judge", "judge-2", "judge-3"}
    assert {*FITTED, *SCALED_ON, *judged, *PAIR_SETS, *FREE} == SETS.keys()


def test_who_does_anything_is_fitted_scaled_on_or_judged_by_as_with_the_exercises():
    for free, sets in (("free", FITTED), ("free-tune", SCALED_ON), ("free-judge", ("judge",))):
        assert set(bodies_of(free)) == {name for one in sets for name in bodies_of(one)}
