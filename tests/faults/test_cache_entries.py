"""An entry of the landmark cache that this release cannot have written is looked at anew."""

import json
from types import SimpleNamespace

import numpy as np
import pytest

from formcheck.landmarks import track_clip as tracking
from formcheck.landmarks.track import LANDMARK_COUNT, LandmarkTrack
from formcheck.pipeline.landmarks import track_clip
from tests.clips.maker import write_clip

TIMES_S = np.arange(6) / 10


def found_anew(frames, *, width, height, **_):
    """In place of the pose model: a person who stands still in the middle of the picture."""
    for _ in frames:  # the clip's report is made on the way
        pass
    place = np.full((len(TIMES_S), LANDMARK_COUNT, 3), 20.0, np.float32)
    seen = np.ones((len(TIMES_S), LANDMARK_COUNT), np.float32)
    return LandmarkTrack(TIMES_S, place, place / 100, seen, width, height, "full", "0" * 64)


@pytest.fixture
def entry(tmp_path, monkeypatch):
    """A clip with its entry, and how often its landmarks were found anew."""
    monkeypatch.setenv("FORMCHECK_CACHE_DIR", str(tmp_path / "cache"))
    clip = write_clip(tmp_path / "clip.mp4", [number / 10 for number in range(6)])
    runs = []
    monkeypatch.setattr(
        tracking,
        "track_frames",
        lambda *given, **named: runs.append(1) or found_anew(*given, **named),
    )
    track_clip(clip)
    (path,) = (tmp_path / "cache").glob("*.npz")
    return SimpleNamespace(clip=clip, path=path, runs=runs)


def rewrite(path, change):
    with np.load(path) as stored:
        arrays = dict(stored)
    header = json.loads(arrays["header"].tobytes())
    change(header, arrays)
    arrays["header"] = np.frombuffer(json.dumps(header).encode(), dtype=np.uint8)
    np.savez(path, **arrays)


def test_an_entry_of_this_release_is_used(entry):
    rewrite(entry.path, lambda header, arrays: None)
    track_clip(entry.clip)
    assert len(entry.runs) == 1


PROBLEM = {
    "code": "too-dark",
    "start_s": None,
    "end_s": None,
    "fatal": False,
    "params": {},
    "form": "",
}
OTHER_SHAPES = {
    "extra is empty": lambda h, a: h.update(extra={}),
    "extra is a list": lambda h, a: h.update(extra=[]),
    "extra is missing": lambda h, a: h.pop("extra"),
    "report is missing": lambda h, a: h["extra"].pop("report"),
    "report is a number": lambda h, a: h["extra"].update(report=7),
    "report with one field more": lambda h, a: h["extra"]["report"].update(colour="red"),
    "report with one field less": lambda h, a: h["extra"]["report"].pop("frames"),
    "report with text for a number": lambda h, a: h["extra"]["report"].update(duration_s="1"),
    "report without frames": lambda h, a: h["extra"]["report"].update(frames=0),
    "report of no length": lambda h, a: h["extra"]["report"].update(duration_s=float("nan")),
    "problem is text": lambda h, a: h["extra"].update(problems=["too-dark"]),
    "problem of an unknown code": lambda h, a: h["extra"].update(
        problems=[PROBLEM | {"code": "x"}]
    ),
    "problem with one field more": lambda h, a: h.update(problems=[PROBLEM | {"where": "left"}]),
    "problem with one field less": lambda h, a: h.update(problems=[{"code": "too-dark"}]),
    "problem at a time in words": lambda h, a: h.update(problems=[PROBLEM | {"start_s": "soon"}]),
    "width in words": lambda h, a: h.update(width="wide"),
    "width of another clip": lambda h, a: h.update(width=h["width"] + 1),
    "no height": lambda h, a: h.update(height=0),
    "model is a number": lambda h, a: h.update(model=3),
    "header is a list": lambda h, a: a.update(header_of_list=h.clear()),
    "no frames": lambda h, a: a.update({n: v[:0] for n, v in a.items() if n != "header"}),
    "times backwards": lambda h, a: a.update(time_s=a["time_s"][::-1]),
    "times standing still": lambda h, a: a.update(time_s=a["time_s"] * 0),
    "times unknown": lambda h, a: a.update(time_s=a["time_s"] * np.nan),
    "times before the start": lambda h, a: a.update(time_s=a["time_s"] - 1),
    "nobody anywhere": lambda h, a: a.update(image_px=a["image_px"] * np.nan),
    "infinitely far": lambda h, a: a.update(world_m=a["world_m"] * np.inf),
    "an array less": lambda h, a: a.pop("visibility"),
    "an array of another shape": lambda h, a: a.update(visibility=a["visibility"][:, :5]),
}


@pytest.mark.parametrize("shape", OTHER_SHAPES)
def test_an_entry_of_another_shape_is_a_miss(entry, shape):
    whole = track_clip(entry.clip)
    rewrite(entry.path, OTHER_SHAPES[shape])
    again = track_clip(entry.clip)
    assert len(entry.runs) == 2
    assert (again.report, again.problems) == (whole.report, whole.problems)
    track_clip(entry.clip)
    assert len(entry.runs) == 2  # and the entry is right again
