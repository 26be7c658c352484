"""The wrong pairs that are tried are wrong, whatever is made of a right one."""

import numpy as np
import pytest

from formcheck.landmarks.track import Joint
from formcheck.views.join import join
from formcheck.views.refusal import Refusal
from models.calibration.wrong_pairs import (
    ALTERED,
    Filmed,
    evenly,
    mirrored,
    right_pairs,
    wrong_pairs,
)
from tests.synthetic import Arm, constant, cycles
from tests.views.two_cameras import Phone, filmed

RAISE = Arm(
    elevation=cycles([1.5, 5.0, 8.3], 8, 95, up_s=1.2, top_s=0.6, down_s=1.2),
    plane=constant(35.0),
    elbow=cycles([1.5, 5.0, 8.3], 10, 60, up_s=1.2, top_s=0.6, down_s=1.2),
)


@pytest.fixture(scope="module")
def tracks():
    return filmed(Phone(), Phone(yaw_deg=70), right=RAISE)


def shows(**changed):
    same = {
        "body": "f1",
        "motion": "raise",
        "fault": "none",
        "reps": [1],
        "holds": [],
        "circles": [],
    }
    return same | changed


def test_two_views_are_one_set_only_if_body_movement_fault_and_times_agree(tracks):
    clips = [
        Filmed("front", tracks[0], shows()),
        Filmed("side", tracks[1], shows()),
        Filmed("hiked", tracks[1], shows(fault="hike")),
        Filmed("other", tracks[1], shows(body="m1")),
    ]
    assert [name for name, *_ in right_pairs(clips)] == ["front + side"]
    kinds = {}
    for kind, (name, *_) in wrong_pairs(clips):
        kinds.setdefault(kind, []).append(name)
    assert kinds["another set of the exercise"] == ["front + hiked", "side + hiked"]
    assert len(kinds["another person, same exercise"]) == 3
    assert len(kinds["one clip twice"]) == 4
    for kind in ALTERED:
        assert kinds[kind] == ["front + side", "side + front"]


@pytest.mark.slow
@pytest.mark.parametrize("kind", ALTERED)
def test_none_that_is_made_of_a_right_pair_is_believed(tracks, kind):
    assert isinstance(join(*ALTERED[kind](*tracks)), Refusal)


@pytest.mark.slow
def test_a_mirror_image_is_not_believed_where_it_looks_like_a_view_from_the_other_side():
    oblique, side = filmed(Phone(yaw_deg=45), Phone(yaw_deg=90), right=RAISE)
    assert not isinstance(join(oblique, side), Refusal)
    assert isinstance(join(oblique, mirrored(side)), Refusal)


def test_a_mirrored_body_has_its_sides_exchanged(tracks):
    seen = ALTERED["right, but one mirrored"](*tracks)[1]
    own = tracks[1].width - tracks[1].image_px[:, Joint.LEFT_WRIST, 0]
    np.testing.assert_allclose(seen.image_px[:, Joint.RIGHT_WRIST, 0], own)


def test_pairs_are_chosen_from_all_over_the_list():
    assert evenly(list(range(9)), 3) == [0, 4, 8]
    assert evenly([1, 2], 12) == [1, 2]
