"""The trunk gives the scale of the picture."""

from dataclasses import replace

import numpy as np
import pytest

from formcheck.measures.measure import measure_track
from formcheck.measures.posture import posture_from
from tests.synthetic import PX_PER_M, TRUNK_M, make_track


def seen_from_above(degrees):
    """A standing figure filmed from so far above that it is foreshortened."""
    track = make_track(duration_s=4.0)
    angle = np.radians(degrees)
    x, y, z = np.moveaxis(track.world_m, -1, 0).astype(float)
    down, away = y * np.cos(angle) + z * np.sin(angle), z * np.cos(angle) - y * np.sin(angle)
    image = track.image_px.astype(float)
    image[..., 1] = 640 + down * PX_PER_M
    return replace(track, image_px=image, world_m=np.stack([x, down, away], axis=-1))


def test_a_trunk_shown_well_gives_the_scale():
    posture = posture_from(seen_from_above(30))
    assert np.median(posture.trunk_px) == pytest.approx(TRUNK_M * PX_PER_M, rel=0.01)
    np.testing.assert_array_equal(posture.scale_px, posture.trunk_px)


def test_a_trunk_shown_badly_gives_a_rough_scale_and_no_centimetres():
    track = seen_from_above(60)
    posture = posture_from(track)
    assert np.isnan(posture.trunk_px).all()
    assert np.median(posture.scale_px) == pytest.approx(TRUNK_M * PX_PER_M, rel=0.05)
    assert np.isnan(measure_track(track).series("hike", "right").value).all()


def test_a_trunk_that_points_at_the_camera_gives_no_scale_at_all():
    assert np.isnan(posture_from(seen_from_above(80)).scale_px).all()
