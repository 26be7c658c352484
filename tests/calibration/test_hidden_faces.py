"""Faces are hidden as a client would before handing a clip on, and nothing else is touched."""

from dataclasses import replace

import numpy as np
import pytest

from formcheck.clips.types import Frame
from formcheck.landmarks.track import Joint
from models.calibration.hidden_faces import covered, hidden, pixelated
from tests.synthetic import make_track


@pytest.mark.parametrize("hide", [pixelated, covered])
def test_the_face_is_hidden_and_the_rest_of_the_picture_is_as_it_was(hide):
    track = make_track(duration_s=1.0)
    image_px = track.image_px.copy()
    image_px[:, :11] = image_px[:, [Joint.NOSE]]
    track = replace(track, image_px=image_px)
    noise = np.random.default_rng(0).integers(0, 255, (track.height, track.width, 3), np.uint8)
    (seen,) = hidden(iter([Frame(0.5, noise)]), track, hide)
    x, y = (round(value) for value in image_px[15, Joint.NOSE, :2])
    face = (slice(y - 8, y + 9), slice(x - 8, x + 9))
    assert seen.image[face].std() < 0.5 * noise[face].std()
    shoulders = round(image_px[15, Joint.LEFT_SHOULDER, 1]) + 30
    assert np.array_equal(seen.image[shoulders:], noise[shoulders:])
    assert np.array_equal(seen.image[:, :60], noise[:, :60])


def test_a_picture_without_anybody_stays_as_it_is():
    track = make_track(duration_s=1.0)
    nobody = replace(track, image_px=np.full_like(track.image_px, np.nan))
    noise = np.random.default_rng(1).integers(0, 255, (40, 60, 3), np.uint8)
    (seen,) = hidden(iter([Frame(0.5, noise)]), nobody, covered)
    assert np.array_equal(seen.image, noise)
