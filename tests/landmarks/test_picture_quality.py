import cv2
import numpy as np
import pytest

from formcheck.clips.types import Frame
from formcheck.landmarks.body import Body
from formcheck.landmarks.picture_quality import PictureQuality

FACE = (160, 215)


def codes(pictures, box=(60, 190, 260, 540)):
    points = np.tile(np.array(FACE, np.float32), (33, 1))
    body = Body(points, np.array(box, dtype=float), np.zeros((2, 2)), np.zeros(3), 350.0)
    quality = PictureQuality()
    for i, picture in enumerate(pictures):
        quality.sample(Frame(i / 15, picture), body)
    return [problem.code for problem in quality.problems()]


def test_a_bright_sharp_clip_has_no_problem(pictures):
    assert codes(pictures) == []


def test_a_dark_clip_is_told(pictures):
    assert codes([picture // 8 for picture in pictures]) == ["too-dark"]


@pytest.mark.slow
def test_a_blurred_clip_is_told(pictures):
    assert codes([cv2.GaussianBlur(p, (0, 0), 6) for p in pictures]) == ["too-blurry"]


def test_a_dark_moment_is_forgiven(pictures):
    assert codes([pictures[0]] * 60 + [pictures[0] // 8] * 15) == []


def test_a_bright_wall_behind_does_not_make_the_subject_bright(pictures):
    against_light = [picture.copy() for picture in pictures]
    for picture in against_light:
        picture[190:541, 60:261] //= 8
    assert "too-dark" in codes(against_light)


def test_a_clip_without_anybody_can_be_dark():
    quality = PictureQuality()
    quality.sample(Frame(0.0, np.full((64, 64, 3), 5, dtype=np.uint8)), None)
    assert [problem.code for problem in quality.problems()] == ["too-dark"]


@pytest.mark.parametrize("noise", [0, 6])
def test_noise_in_the_dark_is_not_taken_for_detail_or_blur(pictures, noise):
    rng = np.random.default_rng(0)
    noisy = [
        np.clip(p / 4 + rng.normal(scale=noise, size=p.shape), 0, 255).astype(np.uint8)
        for p in pictures[::15]
    ]
    assert "too-blurry" not in codes(noisy)


def in_cells(face, width):
    height = face.shape[0]
    small = cv2.resize(face, (width, width), interpolation=cv2.INTER_AREA)
    return cv2.resize(small, (face.shape[1], height), interpolation=cv2.INTER_NEAREST)


HIDINGS = {
    "painted over": np.zeros_like,
    "grey": lambda face: np.full_like(face, 128),
    "blurred": lambda face: cv2.GaussianBlur(face, (0, 0), 9),
    "coarsely pixelated": lambda face: in_cells(face, 3),
}


def with_face(pictures, hide, reach=28):
    hidden = [picture.copy() for picture in pictures]
    x, y = FACE
    for picture in hidden:
        part = picture[y - reach : y + reach, x - reach : x + reach]
        part[:] = hide(part.copy())
    return hidden


@pytest.mark.parametrize("hide", HIDINGS.values(), ids=HIDINGS)
def test_a_face_hidden_beforehand_is_told(pictures, hide):
    assert codes(with_face(pictures, hide)) == ["face-hidden"]


def test_a_finely_pixelated_face_is_as_good_as_an_open_one(pictures):
    assert codes(with_face(pictures, lambda face: in_cells(face, 24))) == []


def test_a_plain_picture_hides_no_face():
    assert codes([np.full((640, 360, 3), 90, np.uint8)] * 30) == ["too-blurry"]
