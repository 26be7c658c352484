"""A hand that nothing can hide counts as seen though the model hardly believes it, and less surely."""

from dataclasses import replace

import numpy as np
import pytest

from formcheck.landmarks.track import Joint
from formcheck.measures.measure import measure_track
from tests.synthetic import Arm, constant, cycles, make_track

BEHIND = Arm(
    elevation=constant(34.0),
    plane=constant(-48.0),
    rotation=constant(120.0),
    elbow=cycles([2.0, 5.0], 94, 60, up_s=1.0, top_s=0.5, down_s=1.0),
)
"""The hand behind the back, lifted off it twice."""


def rated(track, wrist=1.0, elbow=1.0, side="RIGHT"):
    visibility = track.visibility.copy()
    visibility[:, Joint[f"{side}_WRIST"]] = wrist
    visibility[:, Joint[f"{side}_ELBOW"]] = elbow
    return measure_track(replace(track, visibility=visibility))


def known(table, measure, side="right"):
    return float(np.isfinite(table.series(measure, side).value).mean())


@pytest.mark.parametrize(("wrist", "elbow"), [(0.15, 0.95), (0.25, 0.21)])
def test_a_hand_on_the_back_filmed_from_behind_is_measured_and_less_surely(wrist, elbow):
    track = make_track(right=BEHIND, yaw_deg=180)
    plain, soft = rated(track), rated(track, wrist, elbow)
    for measure in ("elbow_flexion", "hand_behind"):
        assert known(soft, measure) == known(plain, measure) > 0.9
        ratio = soft.series(measure, "right").sd / plain.series(measure, "right").sd
        assert np.nanmedian(ratio) > 1.9


def test_a_hand_that_the_trunk_may_hide_is_not():
    table = rated(make_track(right=BEHIND, yaw_deg=0), wrist=0.15)
    assert known(table, "elbow_flexion") == 0.0


def test_nor_is_the_arm_that_does_not_work():
    track = make_track(right=Arm(), left=BEHIND, yaw_deg=180)
    assert known(rated(track, wrist=0.15), "elbow_flexion") == 0.0


def test_nor_a_hand_that_the_model_does_not_believe_in_at_all():
    assert known(rated(make_track(right=BEHIND, yaw_deg=180), wrist=0.05), "elbow_flexion") == 0.0
