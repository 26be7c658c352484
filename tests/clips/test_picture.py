"""Stored pictures are stood upright and scaled down, never up."""

from fractions import Fraction

import numpy as np
import pytest

from formcheck.clips.picture import Upright, fitted_size, shown_size

IMAGE = np.arange(2 * 3 * 3, dtype=np.uint8).reshape(2, 3, 3)
ONE = 1 << 16
QUARTER_TURNS_CLOCKWISE = {
    0: (ONE, 0, 0, 0, ONE, 0, 0, 0, 1 << 30),
    90: (0, ONE, 0, -ONE, 0, 0, 0, 0, 1 << 30),
    180: (-ONE, 0, 0, 0, -ONE, 0, 0, 0, 1 << 30),
    270: (0, -ONE, 0, ONE, 0, 0, 0, 0, 1 << 30),
}


@pytest.mark.parametrize(("turn", "matrix"), QUARTER_TURNS_CLOCKWISE.items())
def test_a_display_matrix_turns_the_picture_clockwise(turn, matrix):
    upright = Upright.from_display_matrix(matrix)
    assert upright.rotation_deg == turn
    np.testing.assert_array_equal(upright.apply(IMAGE), np.rot90(IMAGE, k=-turn // 90))
    assert upright.size(3, 2) == upright.apply(IMAGE).shape[1::-1]


def test_a_display_matrix_can_mirror():
    mirror = Upright.from_display_matrix((-ONE, 0, 0, 0, ONE, 0, 0, 0, 1 << 30))
    np.testing.assert_array_equal(mirror.apply(IMAGE), IMAGE[:, ::-1])
    transpose = Upright.from_display_matrix((0, ONE, 0, ONE, 0, 0, 0, 0, 1 << 30))
    np.testing.assert_array_equal(transpose.apply(IMAGE), IMAGE.swapaxes(0, 1))


@pytest.mark.parametrize("matrix", QUARTER_TURNS_CLOCKWISE.values())
def test_mirroring_exchanges_left_and_right_of_the_upright_picture(matrix):
    upright = Upright.from_display_matrix(matrix)
    np.testing.assert_array_equal(upright.mirrored().apply(IMAGE), upright.apply(IMAGE)[:, ::-1])
    assert upright.mirrored().mirrored() == upright


def test_a_slanted_matrix_gives_the_nearest_quarter_turn():
    assert Upright.from_display_matrix((3, 60, 0, -60, 3, 0, 0, 0, 1)).rotation_deg == 90


@pytest.mark.parametrize(
    ("size", "longest", "expected"),
    [
        ((1080, 1920), 640, (360, 640)),
        ((1920, 1080), 640, (640, 360)),
        ((64, 48), 640, (64, 48)),
        ((640, 64), 640, (640, 64)),
        ((8000, 3), 640, (640, 1)),
        ((1080, 1920), None, (1080, 1920)),
    ],
)
def test_pictures_are_scaled_down_to_fit_and_never_up(size, longest, expected):
    assert fitted_size(*size, longest) == expected


@pytest.mark.parametrize(
    ("pixel_shape", "width"),
    [
        (None, 720),
        (Fraction(1), 720),
        (Fraction(16, 15), 768),
        (Fraction(0), 720),
        (Fraction(1, 1000), 720),
        (Fraction(500), 720),
    ],
)
def test_pixels_are_made_square_unless_their_shape_is_absurd(pixel_shape, width):
    assert shown_size(720, 576, pixel_shape) == (width, 576)
