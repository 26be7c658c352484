import numpy as np
import pytest

from formcheck.measures import features
from formcheck.measures.posture import posture_from
from tests.synthetic import Arm, cycles, make_track


@pytest.mark.parametrize("side", ["left", "right"])
def test_features_put_together_in_blocks_are_those_of_the_whole(monkeypatch, side):
    arm = Arm(elevation=cycles([1.0, 5.0], 8, 110.0, up_s=1.5, top_s=0.5, down_s=1.5))
    posture = posture_from(make_track(right=arm, yaw_deg=20))
    monkeypatch.setattr(features, "_BLOCK", len(posture.time_s))
    whole = features.arm_features(posture, side)
    monkeypatch.setattr(features, "_BLOCK", 47)
    parts = features.arm_features(posture, side)
    for name in ("values", "upper", "fore"):
        np.testing.assert_array_equal(getattr(parts, name), getattr(whole, name))
