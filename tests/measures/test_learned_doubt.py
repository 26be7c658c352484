"""When the learned estimate doubts itself: an arm that is still, and networks that differ."""

import numpy as np
import pytest

from formcheck.measures import learned
from formcheck.measures.network_layout import COLUMNS, OUTPUTS

TIME_S = np.arange(0, 20, 0.1)


def raised(elevation_deg):
    """Directions (n, 3) of an arm out to the side, 0 hanging."""
    angle = np.radians(np.broadcast_to(elevation_deg, TIME_S.shape))
    return np.stack([np.sin(angle), np.zeros(len(angle)), -np.cos(angle)], axis=1)


def test_an_arm_is_still_once_nothing_has_moved_for_as_long_as_the_networks_look():
    stops = raised(np.minimum(30 * TIME_S, 90))  # moves for three seconds
    still = learned._still(TIME_S, stops, stops)
    assert not still[TIME_S < 5.0].any()
    assert still[TIME_S > 5.7].all()


def test_an_arm_that_sways_a_little_is_still():
    sways = raised(90 + 2 * np.sin(TIME_S))
    assert learned._still(TIME_S, sways, sways).all()


def test_a_forearm_that_moves_alone_is_not_still():
    curls = raised(60 + 60 * np.sin(TIME_S))
    assert not learned._still(TIME_S, raised(0), curls).any()


def test_networks_that_differ_by_ten_degrees_doubt_by_ten_degrees():
    hanging = np.array([[0.0, 0.0, -1.0]])
    each = np.zeros((2, 1, COLUMNS))
    each[1, 0, 0] = np.tan(np.radians(10))  # the upper arm ten degrees out to the side
    apart = learned._disagreement(each, hanging, hanging)[0]
    assert apart[OUTPUTS.index("shoulder_elevation")] == pytest.approx(10)
    assert learned._disagreement(each[:1], hanging, hanging).max() == 0
