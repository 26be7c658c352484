"""The signals that movements are found in."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter1d

from formcheck.movements.signals import smoothed


@pytest.mark.parametrize("sd", [0.5, 2.1, 7.0])
def test_smoothing_is_that_of_scipy(sd):
    walk = np.cumsum(np.random.default_rng(0).standard_normal((50, 3)), axis=0)
    theirs = gaussian_filter1d(walk, sd, axis=0, mode="nearest")
    assert np.allclose(smoothed(walk, sd), theirs, atol=1e-12)
