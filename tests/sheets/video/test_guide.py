"""What is drawn on a still is what was, beside what was asked for."""

from dataclasses import replace

import numpy as np
import pytest

from formcheck.catalogue.codes import Verdict
from formcheck.landmarks.track import LANDMARK_COUNT, Joint
from formcheck.sheets.video.drawing import RUST
from formcheck.sheets.video.guide import draw_guide, guide_for
from tests.sheets.findings import finding

PLACES = {
    "SHOULDER": (60, 100), "ELBOW": (60, 150), "WRIST": (60, 190), "HIP": (40, 200),
    "KNEE": (40, 270), "ANKLE": (40, 340), "EAR": (30, 60),
}  # fmt: skip


@pytest.fixture
def body():
    """Somebody who faces the camera, the middle at x = 200, the arms hanging."""
    points = np.full((LANDMARK_COUNT, 2), (200.0, 60.0))
    for part, (x, y) in PLACES.items():
        points[Joint[f"LEFT_{part}"]] = 200 + x, y
        points[Joint[f"RIGHT_{part}"]] = 200 - x, y
    return points


def outside(measure, value, low=None, high=None, side="right"):
    return replace(
        finding(), measure=measure, value=value, low=low, high=high, side=side,
        verdict=Verdict.OUTSIDE,
    )  # fmt: skip


def test_hips_are_drawn_against_the_line_from_shoulder_to_ankle(body):
    guide = guide_for(outside("hip_off_line", 12.0, high=5.5, side=None), body)
    assert guide.actual[0].tolist() == [[200, 100], [200, 200], [200, 340]]
    assert guide.asked[0].tolist() == [[200, 100], [200, 340]]
    assert guide.joints[0].tolist() == [200, 200]


def test_a_lean_is_drawn_against_a_plumb_line(body):
    body[[Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER]] += (30, 0)
    guide = guide_for(outside("trunk_lean_side", 13.0, -8.0, 8.0, side=None), body)
    (start, end), (foot, top) = guide.actual[0], guide.asked[0]
    assert end[0] > start[0]
    assert foot[0] == top[0] == start[0]
    assert np.linalg.norm(end - start) == pytest.approx(np.linalg.norm(top - foot))


def test_an_arm_too_low_is_drawn_below_the_ray_that_was_asked_for(body):
    arm = np.array([-np.sin(np.radians(60)), np.cos(np.radians(60))])
    body[Joint.RIGHT_ELBOW] = body[Joint.RIGHT_SHOULDER] + 50 * arm
    guide = guide_for(outside("shoulder_elevation", 60.0, low=80.0), body)
    actual, asked = guide.actual[0][1], guide.asked[0][1]
    assert asked[1] < actual[1]
    assert actual[0] < body[Joint.RIGHT_SHOULDER][0]


def test_an_arm_that_is_turned_away_has_a_ring_only(body):
    guide = guide_for(outside("shoulder_elevation", 60.0, low=80.0), body)
    assert (guide.actual, guide.asked) == ((), ())
    assert guide.joints[0].tolist() == body[Joint.RIGHT_SHOULDER].tolist()


def test_a_hike_is_the_gap_to_the_ear_and_the_level_that_was_asked_for(body):
    guide = guide_for(outside("hike", 4.0, high=1.0), body)
    assert guide.actual[0][0].tolist() == body[Joint.RIGHT_SHOULDER].tolist()
    assert guide.actual[0][1][1] == pytest.approx(body[Joint.RIGHT_EAR][1])
    assert guide.asked[0][0][1] > body[Joint.RIGHT_SHOULDER][1]


def test_what_a_hike_was_is_drawn_at_the_shoulder_and_not_at_the_ear(body):
    _, level = guide_for(outside("hike", 4.0, high=1.0), body).actual
    assert level[:, 1] == pytest.approx(body[Joint.RIGHT_SHOULDER][1])


@pytest.mark.parametrize("measure", ["hold", "duration", "peak_speed", "steadiness", "roundness"])
def test_nothing_is_drawn_of_what_no_picture_shows(body, measure):
    picture = np.zeros((400, 400, 3), np.uint8)
    draw_guide(picture, guide_for(outside(measure, 3.1, low=5.0), body))
    assert not picture.any()


def test_what_is_of_both_arms_is_drawn_on_both(body):
    guide = guide_for(outside("hand_height", 3.1, low=5.0, side="both"), body)
    assert len(guide.joints) == 2


def test_what_was_is_drawn_in_the_colour_of_what_to_work_on(body):
    picture = np.zeros((400, 400, 3), np.uint8)
    draw_guide(picture, guide_for(outside("hip_off_line", 12.0, high=5.5, side=None), body))
    assert (picture == RUST).all(axis=2).any()
