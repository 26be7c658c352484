"""A face finder of another make finds the face in the recording, and none in what is passed on."""

from pathlib import Path

import av
import cv2
import numpy as np
import pytest

from formcheck.clips.reader import open_clip
from formcheck.landmarks.bundles import find_bundle
from formcheck.landmarks.track_clip import track_frames
from formcheck.sheets.pages.moments import Moment
from formcheck.sheets.video.annotate import annotate
from formcheck.sheets.video.overlay_plan import OverlayPlan
from formcheck.sheets.video.stills import take_stills
from formcheck.words.words import words_for
from tests.sheets.video.faces import FaceFinder

CLIP = Path(__file__).parents[2] / "data" / "raise_front.mp4"
MOMENTS = {
    "hanging": Moment(0.2),
    "raised": Moment(2.0),
    "close": Moment(0.2, close_up=True),
}


@pytest.fixture(scope="module")
def finder():
    made = FaceFinder()
    yield made
    made.close()


@pytest.fixture(scope="module")
def frames():
    with open_clip(CLIP) as clip:
        return list(clip.frames())


@pytest.fixture(scope="module")
def track(frames):
    height, width = frames[0].image.shape[:2]
    return track_frames(iter(frames), bundle=find_bundle("lite"), width=width, height=height)


def pictures_of(stills):
    for still in stills.values():
        bgr = cv2.imdecode(np.frombuffer(still.jpeg, np.uint8), cv2.IMREAD_COLOR)
        yield cv2.cvtColor(bgr, cv2.COLOR_BGR2RGB)


@pytest.mark.slow
@pytest.mark.parametrize("shown", [True, False])
def test_a_face_is_found_in_stills_only_if_it_was_to_be_shown(frames, track, finder, shown):
    stills = take_stills(frames, track, MOMENTS, show_face=shown)
    assert [bool(finder.faces(picture)) for picture in pictures_of(stills)] == [shown] * 3


@pytest.mark.slow
@pytest.mark.parametrize("shown", [True, False])
def test_a_face_is_found_in_the_annotated_clip_only_if_it_was_to_be_shown(
    frames, track, finder, shown, tmp_path
):
    path = tmp_path / "annotated.mp4"
    plan = OverlayPlan(
        track, words_for("en"), track.time_s, reps=(), chains=(), angles=(), notes=()
    )
    annotate(frames[::15], plan, path, show_face=shown)
    with av.open(str(path)) as container:
        written = [frame.to_ndarray(format="rgb24") for frame in container.decode(video=0)]
    assert [bool(finder.faces(picture)) for picture in written] == [shown] * len(written)
