"""A worker process whose check is quick and does what the clip's name says."""

import json
import os
import sys
import time
from pathlib import Path

import numpy as np

from formcheck.batch.workers.worker import main
from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.checks.result import (
    ClipFacts,
    ClipResult,
    CountedDose,
    DoseCount,
    PrescribedDose,
    Provenance,
    Summary,
)
from formcheck.clips.reader import open_clip
from formcheck.errors import ClipError, UnrecognisedError
from formcheck.landmarks.track import LANDMARK_COUNT, LandmarkTrack
from formcheck.measures.table import MeasureTable, View
from formcheck.pipeline.check import Checked

QUICK_WORKER = (sys.executable, __file__)
"""The command that starts such a worker."""

UNSEEN = RecordingProblem(ProblemCode.NOBODY_IN_VIEW, fatal=True, form="ever")
REFUSALS = {
    ("refused", False): ClipError("refused-1.mp4: is not what it seems"),
    ("unclear", True): UnrecognisedError("side-raise 61%, scaption-raise 30%."),
}


def quick_check(path: Path, *, candidates, settings, limits, on_progress):
    """Decode the clip and find nobody in it, or crash, hang, ... as its name asks."""
    exercise = candidates[0].exercise if len(candidates) == 1 else None
    behaviour = path.name.split("-")[0]
    if log := os.environ.get("QUICK_LOG"):
        with open(log, "a") as file:  # one short line is written whole
            file.write(json.dumps([path.name, os.getpid()]) + "\n")
    if behaviour == "crash":
        os.abort()
    if behaviour == "crash_once" and not (mark := path.with_suffix(".crashed")).exists():
        mark.touch()
        os.abort()
    if behaviour == "hang":
        time.sleep(3600)
    if behaviour == "hungry":
        np.ones((64, 2**27))
    if behaviour == "bug":
        raise ZeroDivisionError("a slip in our own code")
    if refusal := REFUSALS.get((behaviour, len(candidates) > 1)):
        raise refusal
    if behaviour == "slow":
        time.sleep(0.4)
    with open_clip(path, limits=limits) as clip:
        for frame in clip.frames(max_side_px=64):
            on_progress(min(frame.time_s, 1.0))
        info, report = clip.info, clip.report
    facts = ClipFacts(
        path.name, info.sha256, report.duration_s, report.frames, report.mean_rate_hz,
        info.width, info.height, 0, variable_rate=False,
    )  # fmt: skip
    result = ClipResult(
        clip=facts,
        exercise=exercise.name if exercise else "unknown",
        side=candidates[0].side or "unknown",
        view=View("front", 0.0, 10.0),
        usable=False,
        tracked_share=0.0,
        problems=(UNSEEN,),
        reps=(),
        dose=DoseCount(PrescribedDose(10), CountedDose(0), None),
        summary=Summary(None, (), None, (), ()),
        provenance=Provenance("0", "full", "0" * 64, {}),
    )
    none = np.zeros((0, LANDMARK_COUNT, 3))
    track = LandmarkTrack(
        np.zeros(0), none, none, none[:, :, 0], info.width, info.height, "full", "0" * 64
    )
    never = np.zeros(0, dtype=bool)
    table = MeasureTable(np.zeros(0), {}, result.view, {}, never, never)
    return Checked(result, exercise, table, track, path, settings)


if __name__ == "__main__":
    main(check=quick_check)
