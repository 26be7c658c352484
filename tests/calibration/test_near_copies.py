"""A near copy of a clip is as true as the clip: what was read wrong stays, what moved moves."""

from dataclasses import replace

import numpy as np
import pytest

from models.calibration import nearby, scenes
from models.calibration.body import SIDES, Body
from models.calibration.exercises import exercise
from models.calibration.scenes import plan
from models.calibration.shards import Clip
from models.calibration.truth import COLUMNS, places_of

pytestmark = pytest.mark.slow

SPINE = (
    "root",
    "spine05",
    "spine04",
    "spine03",
    "spine02",
    "spine01",
    "neck01",
    "neck02",
    "neck03",
)
ARM = (
    ("clavicle", 0.03, 0.0, 1.42),
    ("upperarm01", 0.17, 0.0, 1.42),
    ("upperarm02", 0.22, 0.01, 1.3),
    ("lowerarm01", 0.28, 0.03, 1.18),
    ("lowerarm02", 0.32, 0.01, 1.08),
    ("wrist", 0.36, -0.03, 0.97),
    ("finger2-1", 0.38, -0.05, 0.88),
)
LEG = (
    ("upperleg01", 0.09, 0.0, 0.92),
    ("upperleg02", 0.09, -0.01, 0.7),
    ("lowerleg01", 0.1, -0.02, 0.5),
    ("lowerleg02", 0.1, 0.0, 0.3),
    ("foot", 0.1, 0.02, 0.08),
)


def bones():
    """Names, parents and heads of a stick person: a spine, a head, two arms and two legs."""
    rows = [
        (name, k - 1, (0.0, 0.0, z))
        for k, (name, z) in enumerate(zip(SPINE, np.linspace(0.95, 1.5, len(SPINE)), strict=True))
    ]
    rows.append(("head", len(rows) - 1, (0.0, 0.0, 1.55)))
    for limb, root in ((ARM, SPINE.index("spine01")), (LEG, 0)):
        for side, sign in (("L", 1), ("R", -1)):
            parent = root
            for name, x, y, z in limb:
                rows.append((f"{name}.{side}", parent, (sign * x, y, z)))
                parent = len(rows) - 1
    return rows


@pytest.fixture
def folder(tmp_path, monkeypatch):
    names, parents, heads = zip(*bones(), strict=True)
    around = np.radians(np.arange(0, 360, 10))
    ring = np.stack([0.15 * np.cos(around), 0.1 * np.sin(around), np.full(36, 1.15)], axis=1)
    skin = np.concatenate([ring, [[0.1, 0, 0.0]]])
    hung = np.zeros((len(skin), 1), int) + SPINE.index("spine03")
    np.savez(
        tmp_path / "common.npz",
        names=np.array(names),
        parents=np.array(parents),
        faces=np.zeros((1, 3), int),
        bones=hung,
        weights=np.ones((len(skin), 1)),
        part=np.zeros(len(skin), int),
        part_labels=np.array(["trunk"]),
    )
    for name, taller in (("one", 1.0), ("other", 1.1)):
        np.savez(
            tmp_path / f"{name}.npz",
            vertices_tenth_mm=np.round(skin * 1e4).astype(np.int16),
            heads=np.array(heads) * np.array([1.0, 1.0, taller]),
        )
    for module in (scenes, nearby):
        monkeypatch.setattr(module, "bodies_of", lambda _: ["one", "other"])
    return tmp_path


def flawless(folder, index):
    """A clip whose landmarks are all exactly where the joints are."""
    scene = plan(folder, "loose", index)
    pose = scene.body.solve(scene.motion)
    image, world, _, places = nearby._seen(places_of(scene.body, pose), scene.camera, scene.every)
    truth = np.full((len(image), len(COLUMNS)), np.nan)
    return Clip(scene.about, image, world, np.ones(image.shape[:2]), places, truth)


@pytest.mark.parametrize(("how", "several"), [("usual", False), ("loose", False), ("wide", True)])
def test_made_up_and_several_faults_are_only_where_they_are_meant(folder, how, several):
    rng = np.random.default_rng(1)
    body = Body(folder, "one")
    made = [exercise(rng, body, 200, lying=False, how=how) for _ in range(30)]
    assert any("+" in one.fault for one in made) == several
    assert any(one.name == "made-up" for one in made) == several
    assert any(one.fault == "none" for one in made)
    assert all(np.isfinite(arm.upper).all() for one in made for arm in one.motion.arms.values())


def true_upper_arm(truth, side):
    """Upper arm direction (n, 3) in camera axes, from the truth alone."""

    def of(*names):
        return truth[:, [COLUMNS.index(name) for name in names]]

    left, up = (of(*(f"{axis}_{k}" for k in "xyz")) for axis in ("left", "up"))
    outward = left if side == "L" else -left
    axes = np.stack([outward, np.cross(left, up), up], axis=1)
    return np.einsum("nk,nkj->nj", of(*(f"upper_{k}_{side}" for k in "xyz")), axes)


@pytest.mark.parametrize("index", range(6))
def test_a_near_copy_of_a_flawless_clip_shows_exactly_what_its_own_truth_says(
    folder, monkeypatch, index
):
    monkeypatch.setattr(nearby, "SHOWN", np.ones((17, 3)))
    clip = flawless(folder, index)
    for near in nearby.near_copies(folder, clip, 2):
        assert np.abs(near.image - clip.image).max() > 1
        for side, shoulder in zip(SIDES, (3, 4), strict=True):
            shown = near.world[:, shoulder + 2] - near.world[:, shoulder]
            shown = shown / np.linalg.norm(shown, axis=1, keepdims=True)
            np.testing.assert_allclose(shown, true_upper_arm(near.truth, side), atol=1e-6)


def test_what_the_pose_model_read_wrong_stays_wrong_by_as_much(folder):
    clip = flawless(folder, 3)
    wrong = replace(clip, world=clip.world + 0.1)
    for near, off in zip(
        nearby.near_copies(folder, clip, 2), nearby.near_copies(folder, wrong, 2), strict=True
    ):
        np.testing.assert_allclose(off.world - near.world, 0.1)
        np.testing.assert_array_equal(off.truth, near.truth)
