"""Pictures of one rendered person, and scenes put together from them."""

from pathlib import Path

import av
import cv2
import numpy as np
import pytest

from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.clips.types import Frame
from formcheck.landmarks.bundles import find_bundle
from formcheck.landmarks.track import LANDMARK_COUNT, Bystanders, LandmarkTrack
from formcheck.landmarks.track_clip import track_frames

CLIP = Path(__file__).parents[1] / "data" / "raise_front.mp4"
RATE_HZ = 15.0


@pytest.fixture(scope="session")
def pictures():
    """45 RGB pictures (640, 360, 3): the right arm goes up to shoulder height and stays."""
    with av.open(CLIP) as clip:
        return [frame.to_ndarray(format="rgb24") for frame in clip.decode(video=0)]


@pytest.fixture(scope="session")
def bundle():
    return find_bundle("lite")


@pytest.fixture(scope="session")
def follow(bundle):
    """Pictures to a track, at 15 pictures a second."""

    def run(scene, person=None):
        height, width = scene[0].shape[:2] if scene else (640, 360)
        frames = (Frame(i / RATE_HZ, picture) for i, picture in enumerate(scene))
        return track_frames(frames, bundle=bundle, width=width, height=height, person=person)

    return run


@pytest.fixture(scope="session")
def hall(pictures):
    """An empty picture (640, 900, 3) to put people into."""
    return np.full((640, 900, 3), np.median(pictures[0][:150], axis=(0, 1)), dtype=np.uint8)


@pytest.fixture(scope="session")
def put(pictures):
    """Put a person (a picture's middle, scaled) into a scene, with the middle at ``x``."""

    def into(scene, picture, x, scale=1.0):
        cut = picture[170:570, 10:280]
        cut = cv2.resize(cut, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
        left, top = int(x - cut.shape[1] / 2), 600 - cut.shape[0]
        first, last = max(left, 0), min(left + cut.shape[1], scene.shape[1])
        if first < last:
            scene[top:600, first:last] = cut[:, first - left : last - left]
        return scene

    return into


@pytest.fixture
def track():
    """A small track without meaning, with gaps and problems."""
    rng = np.random.default_rng(1)
    count = 7
    image = rng.normal(size=(count, LANDMARK_COUNT, 3)).astype(np.float32).astype(float)
    image[2] = np.nan
    return LandmarkTrack(
        time_s=np.arange(count) / 3,
        image_px=image,
        world_m=image * 2,
        visibility=image[..., 0] * 4,
        width=720,
        height=1280,
        model="full",
        model_sha256="ab" * 32,
        problems=(RecordingProblem(ProblemCode.TOO_SHORT, 0.5, None, True, {"needed_s": 2.0}),),
        skipped=np.array([1, 3]),
        bystanders=Bystanders(np.array([0.0, 1 / 3]), image[:2, :, :2]),
    )
