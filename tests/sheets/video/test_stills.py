from dataclasses import replace

import cv2
import numpy as np
import pytest

from formcheck.clips.types import Frame
from formcheck.sheets.pages.moments import Moment
from formcheck.sheets.video.stills import STILL_HEIGHT_PX, take_stills
from tests.sheets.findings import finding


def picture(still):
    return cv2.imdecode(np.frombuffer(still.jpeg, np.uint8), cv2.IMREAD_COLOR)


def test_each_still_is_of_the_frame_nearest_to_its_moment(frames, track):
    moments = {"b": Moment(7.99), "a": Moment(2.03), "same": Moment(2.03), "last": Moment(99.0)}
    stills = take_stills(frames, track, moments)
    assert {key: round(still.time_s, 3) for key, still in stills.items()} == {
        "a": 2.0,
        "same": 2.0,
        "b": 8.0,
        "last": round(frames[-1].time_s, 3),
    }


def test_reading_stops_after_the_last_moment(frames, track):
    def stream():
        yield from frames[:40]
        raise AssertionError("read further than needed")

    assert take_stills(stream(), track, {"a": Moment(2.0)})["a"].time_s == pytest.approx(2.0)


def test_stills_are_small_jpegs_without_metadata(frames, track):
    still = take_stills(frames, track, {"a": Moment(2.0)})["a"]
    assert still.jpeg[:2] == b"\xff\xd8"
    assert b"Exif" not in still.jpeg
    assert picture(still).shape[:2] == (still.height, still.width)
    assert still.height == STILL_HEIGHT_PX


def test_whole_subject_stills_share_one_framing_and_close_ups_are_closer(frames, track):
    moments = {"low": Moment(0.0), "high": Moment(2.5), "close": Moment(2.5, close_up=True)}
    stills = take_stills(frames, track, moments)
    assert stills["low"].width == stills["high"].width
    assert stills["close"].width == pytest.approx(STILL_HEIGHT_PX, abs=STILL_HEIGHT_PX / 8)


def test_faces_are_veiled_unless_asked_for(track):
    stripes = np.zeros((320, 180, 3), np.uint8)
    stripes[:, ::2] = 255
    frames = [Frame(0.0, stripes)]
    moments = {"a": Moment(0.0, close_up=True)}
    veiled = picture(take_stills(frames, track, moments)["a"]).astype(float)
    shown = picture(take_stills(frames, track, moments, show_face=True)["a"]).astype(float)
    top = slice(60, 120), slice(150, 210)
    assert veiled[top].std() < 0.3 * shown[top].std()


def test_without_any_pose_the_whole_picture_is_shown_veiled(frames, track):
    nobody = replace(track, image_px=np.full_like(track.image_px, np.nan))
    still = take_stills(frames, nobody, {"a": Moment(1.0), "b": Moment(1.0, close_up=True)})["a"]
    assert picture(still).astype(float).std() < 25


def test_an_empty_stream_gives_no_stills(track):
    assert take_stills([], track, {"a": Moment(1.0)}) == {}


@pytest.mark.parametrize(
    ("measure", "drawn"), [("shoulder_elevation", "lines"), ("follow_range", "ring")]
)
def test_a_still_knows_what_is_drawn_on_it(frames, track, measure, drawn):
    about = replace(finding(), measure=measure, value=91.0, low=100.0, high=None, side="right")
    stills = take_stills(frames, track, {"a": Moment(2.6, about=about), "b": Moment(2.6)})
    assert (stills["a"].drawn, stills["b"].drawn) == (drawn, "")
