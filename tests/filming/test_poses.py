"""What is drawn is what is asked for: angles, sides and postures of the figures."""

import numpy as np
import pytest

from formcheck.exercises.client_limits import limit_checks
from formcheck.exercises.library import exercise_with, library_names, load_exercise
from formcheck.exercises.programme_file import Limit
from formcheck.filming.figure import ArmPose
from formcheck.filming.poses import DrawnPoses, drawn_poses
from formcheck.filming.stick_figure import figure

AXES = {
    "shoulder_elevation": "elevation",
    "plane_of_elevation": "plane",
    "axial_rotation": "rotation",
    "elbow_flexion": "elbow",
}
GROUPS = [
    (name, part) for name in library_names() for part in (load_exercise(name).parts or (None,))
]
IDS = [f"{name} {part.name if part else ''}".strip() for name, part in GROUPS]


@pytest.mark.parametrize(("name", "part"), GROUPS, ids=IDS)
def test_the_end_is_drawn_where_the_checks_want_it(name, part):
    exercise = load_exercise(name)
    poses = drawn_poses(exercise, part)
    for check in (part or exercise).checks:
        axis = AXES.get(check.measure)
        if axis is None or check.relative or check.side == "other":
            continue
        start, end = getattr(poses.start, axis), getattr(poses.end, axis)
        drawn = {"max": max(start, end), "min": min(start, end)}.get(check.statistic, end)
        if check.phase == "top":
            drawn = end
        if check.statistic in ("range", "spread"):
            continue
        assert check.low is None or drawn >= check.low, check.id
        assert check.high is None or drawn <= check.high, check.id


@pytest.mark.parametrize("name", library_names())
def test_every_exercise_of_the_library_says_how_it_is_drawn(name):
    exercise = load_exercise(name)
    assert all(one.drawing for one in (exercise.parts or (exercise,)))


def test_a_limit_of_the_client_moves_the_drawing():
    exercise = load_exercise("scaption-raise")
    own = exercise_with(exercise, {"checks": [{"id": "height", "low": 60}]})
    limit = limit_checks(Limit(measure="shoulder_elevation", never_above=80))
    limited = own.model_copy(update={"checks": (*own.checks, *limit)})
    assert drawn_poses(exercise).end.elevation >= 90
    assert 60 <= drawn_poses(limited).end.elevation <= 80


def test_an_exercise_without_a_drawing_is_drawn_by_its_checks():
    plain = load_exercise("front-raise").model_copy(update={"drawing": None})
    poses = drawn_poses(plain)
    assert poses.end.elevation >= 90
    assert poses.start.elevation < poses.end.elevation - 60


def angle(a, b):
    return np.degrees(np.arccos(np.clip(a @ b / np.linalg.norm(a) / np.linalg.norm(b), -1, 1)))


@pytest.mark.parametrize(
    "position", ["standing", "sitting", "kneeling", "lying", "prone", "side-lying"]
)
@pytest.mark.parametrize("yaw_deg", [0.0, 45.0, 90.0, 180.0])
def test_the_joints_have_the_angles_of_the_pose(position, yaw_deg):
    arm = ArmPose(elevation=70, plane=40, rotation=-20, elbow=85)
    poses = DrawnPoses(ArmPose(), arm, ArmPose())
    joints = figure(position, poses, both_arms=False, top=True, yaw_deg=yaw_deg).joints
    upper = joints["working elbow"] - joints["working shoulder"]
    fore = joints["working wrist"] - joints["working elbow"]
    hips = (joints["working hip"] + joints["other hip"]) / 2
    shoulders = (joints["working shoulder"] + joints["other shoulder"]) / 2
    assert angle(upper, hips - shoulders) == pytest.approx(70)
    assert angle(upper, fore) == pytest.approx(85)


def test_a_turned_figure_shows_its_working_side():
    poses = DrawnPoses(ArmPose(), ArmPose(), ArmPose())

    def shoulders(yaw_deg):
        joints = figure("standing", poses, both_arms=False, top=False, yaw_deg=yaw_deg).joints
        return joints["working shoulder"] - joints["other shoulder"]

    assert shoulders(0)[0] < -0.3  # a right arm is on the left of the picture, seen from the front
    assert shoulders(90)[2] > 0.3  # and nearest to a camera at its side
    assert shoulders(180)[0] > 0.3


@pytest.mark.parametrize("name", ["push-up-plus", "push-up-plus-knees", "kneeling-rock"])
@pytest.mark.parametrize("top", [False, True])
def test_hands_that_carry_the_body_are_on_the_floor(name, top):
    exercise = load_exercise(name)
    one = figure(exercise.position, drawn_poses(exercise), both_arms=True, top=top, yaw_deg=90)
    last = "ankle" if name == "push-up-plus" else "knee"
    assert one.joints["working wrist"][1] == pytest.approx(
        one.joints[f"working {last}"][1], abs=0.11
    )


def test_hands_on_a_wall_stay_there():
    exercise = load_exercise("push-up-plus-wall")
    poses = drawn_poses(exercise)
    reach = [
        one.joints["working wrist"][0] - one.joints["working ankle"][0]
        for one in (
            figure("standing", poses, both_arms=True, top=top, yaw_deg=90) for top in (False, True)
        )
    ]
    assert reach[0] == pytest.approx(reach[1], abs=0.02)
