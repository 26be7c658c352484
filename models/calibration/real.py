"""Judge formcheck on a real person, whose true angles several cameras tell: a section of ``REPORT.md``.

    python -m models.calibration.report --real DIR

The pictures are not ours to hand on, so DIR stays outside the repository. It holds ``videos/*.mp4`` of
one person, filmed by several cameras at once, and two files of true angles that were made
independently of each other, ``truth_published.csv`` and ``truth_triangulated.csv``: a row for each
picture, a column in degrees for each measure of AGREE_DEG, with ``_left`` or ``_right`` where it has a
side. A truth counts only where both agree. Nothing is fitted to any of this.
"""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.problems import RecordingProblem
from formcheck.landmarks.track import LandmarkTrack
from formcheck.measures.measure import measure_track
from formcheck.measures.posture import posture_from
from formcheck.measures.table import SIDES, Side
from formcheck.pipeline.landmarks import track_clip
from formcheck.pipeline.settings import Settings
from models.calibration.dataset import SEEN, visibility
from models.calibration.markdown import table

Array = NDArray[np.float64]
TITLE = "## Apart from all that is rendered: a real person"
AGREE_DEG = {
    "elbow_flexion": 10.0,
    "shoulder_elevation": 10.0,
    "upper_arm_to_vertical": 10.0,
    "plane_of_elevation": 15.0,
    "trunk_lean_side": 10.0,
    "trunk_lean_forward": 10.0,
}
"""Measures that are judged, and how far the two truths of one may differ: their mean is taken."""
_OF_TRUNK = ("trunk_lean_side", "trunk_lean_forward")
_POLES_DEG = (30.0, 150.0)
"""Elevations between which the plane of elevation counts."""
_PLAYS_AT = 2.0
"""The movement is shown at half speed, or nothing of it is around most moments."""
_SETTINGS = Settings(speed=_PLAYS_AT, every_frame=True)
_EVERY = 5
"""Of the pictures every fifth counts, as neighbours err alike."""
_HEAD = ("moments", "mean error", "bias", "median sd", "% in 2 sd", "% measured")


@dataclass(frozen=True, slots=True)
class Reading:
    """What was read at one moment, NaN if nothing, its standard uncertainty, and what is true."""

    measure: str
    value: float
    sd: float
    true: float


def section_of(folder: Path) -> str:
    """The section of the report.

    Raises FileNotFoundError without the truths, ValueError without a video.
    """
    truth = _agreed(
        *(_columns(folder / f"truth_{made}.csv") for made in ("published", "triangulated"))
    )
    videos = sorted((folder / "videos").glob("*.mp4"))
    if not videos:
        raise ValueError(f"{folder}: no videos/*.mp4 in it; see models/calibration/real.py")
    looked_at = [track_clip(video, _SETTINGS).track for video in videos]
    kept = [track for track in looked_at if not _refused(track)]
    refused = [track for track in looked_at if _refused(track)]
    pictures = len(next(iter(truth.values())))
    return "\n".join(
        [
            f"{TITLE}\n",
            f"One person in one movement of {pictures} pictures, filmed by {len(videos)} cameras at once, "
            "some of them high or rolled, not doing an exercise and not as advised. This is far too "
            "little to tell how accurate formcheck is of people in general, and a difference of one or "
            "two degrees means nothing here. Truth is the mean of two ways to reckon the angles from "
            "several cameras, where these agree within 10 degrees (the plane of elevation: 15). Every "
            f"{_EVERY}th picture counts, of arms in view (visibility at least {SEEN}); errors are in "
            "degrees.\n",
            _table(kept, truth),
            *(_of_refused(refused, truth) if refused else ()),
        ]
    )


def _of_refused(refused: list[LandmarkTrack], truth: dict[str, Array]) -> list[str]:
    reasons = ", ".join(sorted({problem.code for one in refused for problem in _refused(one)}))
    return [
        f"{len(refused)} of these clips formcheck refuses ({reasons}), so that nobody is told a number "
        "from it. It is not among the above; what would have been read of it:\n",
        _table(refused, truth),
    ]


def with_section(report: str, section: str) -> str:
    """The report with this section in place of an earlier one, else at its end."""
    old = section_in(report)
    if old is None:
        return report.rstrip("\n") + "\n\n" + section
    return report.replace(old, section.rstrip("\n") + "\n")


def section_in(report: str, title: str = TITLE) -> str | None:
    """The section as it stands in a report, up to the next heading; None without one."""
    _, found, rest = report.partition(title)
    return found + re.split(r"(?m)^## ", rest)[0].rstrip() + "\n" if found else None


def _refused(track: LandmarkTrack) -> list[RecordingProblem]:
    return [problem for problem in track.problems if problem.fatal]


def _table(tracks: list[LandmarkTrack], truth: dict[str, Array]) -> str:
    readings = [one for track in tracks for one in _readings(track, truth)]
    rows = (
        (measure, _cells([r for r in readings if r.measure == measure])) for measure in AGREE_DEG
    )
    return table("measure", rows, _HEAD)


def _readings(track: LandmarkTrack, truth: dict[str, Array]) -> Iterator[Reading]:
    posture, measured = posture_from(track), measure_track(track)
    at = np.arange(0, min(len(measured.time_s), len(next(iter(truth.values())))), _EVERY)
    for side in SIDES:
        at_side = at[visibility(posture, side)[at] >= SEEN]
        for measure in AGREE_DEG:
            if measure in _OF_TRUNK:
                continue
            series, true = measured.series(measure, side), truth[f"{measure}_{side}"]
            for k in at_side[_counts(truth, measure, side)[at_side]]:
                yield Reading(measure, series.value[k], series.sd[k], true[k])
    for measure in _OF_TRUNK:
        series, true = measured.series(measure), truth[measure]
        for k in at[np.isfinite(true[at])]:
            yield Reading(measure, series.value[k], series.sd[k], true[k])


def _counts(truth: dict[str, Array], measure: str, side: Side) -> NDArray[np.bool_]:
    known = np.isfinite(truth[f"{measure}_{side}"])
    if measure == "plane_of_elevation":
        elevation = truth[f"shoulder_elevation_{side}"]
        known &= (elevation >= _POLES_DEG[0]) & (elevation <= _POLES_DEG[1])
    return np.asarray(known)


def _cells(readings: list[Reading]) -> list[str]:
    error = np.array([(r.value - r.true + 180) % 360 - 180 for r in readings])
    sd = np.array([r.sd for r in readings])
    known = np.isfinite(error) & np.isfinite(sd)
    if not known.any():
        return [str(len(readings)), *["-"] * (len(_HEAD) - 2), "0"]
    error, sd = error[known], sd[known]
    return [
        str(len(readings)),
        f"{np.abs(error).mean():.1f}",
        f"{error.mean():+.1f}",
        f"{np.median(sd):.1f}",
        f"{100 * np.mean(np.abs(error) <= 2 * sd):.0f}",
        f"{100 * np.mean(known):.0f}",
    ]


def _agreed(one: dict[str, Array], other: dict[str, Array]) -> dict[str, Array]:
    """Truth (n,) of each column, NaN where the two do not agree."""
    agreed = {}
    for measure, most in AGREE_DEG.items():
        names = [measure] if measure in _OF_TRUNK else [f"{measure}_{side}" for side in SIDES]
        for name in names:
            apart = (other[name] - one[name] + 180) % 360 - 180
            agreed[name] = np.where(np.abs(apart) <= most, one[name] + apart / 2, np.nan)
    return agreed


def _columns(path: Path) -> dict[str, Array]:
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return {name: np.array([float(row[name] or "nan") for row in rows]) for name in rows[0]}
