"""Judge formcheck on clips whose faces were hidden beforehand: a section of ``REPORT.md``.

    python -m models.calibration.hidden_faces FOLDER [--report REPORT.md]

Clients and institutions pixelate or cover faces before they hand a clip on, and the pose model tells
front from back, and so left from right, by faces too. FOLDER holds clips with their truth as
``sample_clips`` does. Each is read as it is, and again with the face hidden in either way.
"""

import argparse
import csv
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from formcheck.clips.reader import open_clip
from formcheck.clips.types import Frame
from formcheck.landmarks.bundles import find_bundle
from formcheck.landmarks.track import MAX_SIDE_PX, LandmarkTrack
from formcheck.landmarks.track_clip import track_frames
from formcheck.measures.measure import measure_track
from formcheck.measures.table import SIDES, MeasureTable
from formcheck.pipeline.check import check_measured
from formcheck.pipeline.landmarks import Measured, Tracked, track_clip
from formcheck.pipeline.selection import candidates_for
from formcheck.pipeline.settings import Settings
from formcheck.sheets.video.anonymise import bodies_at, head_circles
from models.calibration.markdown import table
from models.calibration.verdict_reliability import with_sections

Picture = NDArray[np.uint8]
TITLE = "## Clips whose faces were hidden beforehand"
MEASURES = ("elbow_flexion", "shoulder_elevation", "plane_of_elevation")
_CELLS = 5
"""A pixelated face is so many cells wide."""
_EVERY_S = 0.2
"""Of the times one in so many seconds counts, as neighbours err alike."""
_POLES_DEG = (30.0, 150.0)
"""Elevations between which the plane of elevation counts."""
_HEAD = (
    "clips",
    "refused",
    "sides put back",
    "counts right",
    *(m.replace("_", " ") for m in MEASURES),
)


def pixelated(head: Picture) -> Picture:
    """The picture of a head (h, w, 3) in a few large cells."""
    small = cv2.resize(head, (_CELLS, _CELLS), interpolation=cv2.INTER_AREA)
    size = head.shape[1], head.shape[0]
    return np.asarray(cv2.resize(small, size, interpolation=cv2.INTER_NEAREST), np.uint8)


def covered(head: Picture) -> Picture:
    """A plain patch in place of the picture of a head (h, w, 3)."""
    return np.full_like(head, 128)


HIDINGS: dict[str, Callable[[Picture], Picture] | None] = {
    "as they are": None,
    "faces pixelated": pixelated,
    "faces covered": covered,
}


@dataclass(frozen=True, slots=True)
class Read:
    """What was read of one clip: ``errors`` and uncertainties (n, 2) of each measure, in degrees."""

    refused: bool
    put_back: int
    counted: bool
    errors: dict[str, NDArray[np.float64]]


def hidden(
    frames: Iterator[Frame], track: LandmarkTrack, hide: Callable[[Picture], Picture]
) -> Iterator[Frame]:
    """The frames with the face of the track's subject hidden."""
    for frame in frames:
        image = np.ascontiguousarray(frame.image).copy()
        for body in bodies_at(track, frame.time_s, image.shape[1] / track.width)[0]:
            (x, y), radius = head_circles(body)[0]
            left, top = max(round(x - radius), 0), max(round(y - radius), 0)
            head = image[top : max(round(y + radius), 0), left : max(round(x + radius), 0)]
            if not head.size:
                continue
            disc = np.zeros(head.shape[:2], np.uint8)
            cv2.circle(disc, (round(x) - left, round(y) - top), round(radius), 1, -1)
            np.copyto(head, hide(head), where=disc[:, :, None] > 0)
        yield Frame(frame.time_s, image)


def section_of(folder: Path) -> str:
    """The section of the report. Raises FileNotFoundError without a clip that has its truth."""
    names = sorted(path.name.removesuffix(".truth.json") for path in folder.glob("*.truth.json"))
    if not names:
        raise FileNotFoundError(f"{folder}: no NAME.truth.json beside NAME.mp4")
    rows = [
        (way, _cells([read_clip(folder / name, hide) for name in names]))
        for way, hide in HIDINGS.items()
    ]
    return "\n".join(
        [
            f"{TITLE}\n",
            "Rendered clips with their truth, each read as it is and with the head hidden in every picture "
            "before anything is read. Of angles: mean error in degrees, share within two uncertainties; arms "
            "wherever they were measured.\n",
            table("clips", rows, _HEAD),
        ]
    )


def read_clip(stem: Path, hide: Callable[[Picture], Picture] | None) -> Read:
    """Read ``stem``.mp4, with faces hidden so, and lay it beside its truth."""
    clip, settings = stem.with_name(stem.name + ".mp4"), Settings()
    about = json.loads(stem.with_name(stem.name + ".truth.json").read_text("utf-8"))
    tracked = track_clip(clip, settings)
    if hide is not None:
        tracked = replace(tracked, track=_track_hidden(clip, tracked, hide))
    measured = Measured(tracked, measure_track(tracked.track, stature_m=settings.stature_m))
    side = None if about["side"] == "both" else about["side"]
    result = check_measured(measured, candidates_for(about["exercise"], side=side), settings).result
    whole = [one for one in result.reps if not one.rep.partial]
    return Read(
        not result.usable,
        len(tracked.track.exchanged),
        len(whole) == len(about["whole"]),
        _errors(measured.table, stem.with_name(stem.name + ".truth.csv")),
    )


def _track_hidden(
    clip: Path, tracked: Tracked, hide: Callable[[Picture], Picture]
) -> LandmarkTrack:
    with open_clip(clip) as reader:
        return track_frames(
            hidden(reader.frames(max_side_px=MAX_SIDE_PX), tracked.track, hide),
            bundle=find_bundle("full"),
            width=reader.info.width,
            height=reader.info.height,
        )


def _errors(measured: MeasureTable, path: Path) -> dict[str, NDArray[np.float64]]:
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    time_s = np.array([float(row["time_s"]) for row in rows])
    at = np.searchsorted(measured.time_s, np.arange(0, time_s[-1], _EVERY_S))
    at = at[at < len(measured.time_s)]
    row_at = np.searchsorted(time_s, measured.time_s[at] - 1e-3).clip(0, len(rows) - 1)

    def true(name: str, side: str) -> NDArray[np.float64]:
        return np.array([float(rows[k][f"{name}_{side}_deg"] or "nan") for k in row_at])

    found: dict[str, list[NDArray[np.float64]]] = {name: [] for name in MEASURES}
    for side in SIDES:
        raised = true("shoulder_elevation", side)
        for name in MEASURES:
            series = measured.series(name, side)
            error = (series.value[at] - true(name, side) + 180) % 360 - 180
            known = np.isfinite(error)
            if name == "plane_of_elevation":
                known &= (raised >= _POLES_DEG[0]) & (raised <= _POLES_DEG[1])
            found[name].append(np.stack([error, series.sd[at]], axis=1)[known])
    return {name: np.concatenate(parts) for name, parts in found.items()}


def _cells(reads: list[Read]) -> list[str]:
    cells = [
        str(len(reads)),
        str(sum(read.refused for read in reads)),
        str(sum(read.put_back > 0 for read in reads)),
        str(sum(read.counted for read in reads)),
    ]
    for name in MEASURES:
        error, sd = np.concatenate([read.errors[name] for read in reads if not read.refused]).T
        inside = 100 * np.mean(np.abs(error) <= 2 * sd)
        cells.append(f"{np.abs(error).mean():.1f}, {inside:.0f} % of {len(error)}")
    return cells


def main() -> None:
    """Read the clips and write the section into the report, in place of an earlier one."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--report", type=Path, default=Path(__file__).parent / "REPORT.md")
    arguments = parser.parse_args()
    section = section_of(arguments.folder)
    print(section)
    report = with_sections(arguments.report.read_text("utf-8"), section)
    arguments.report.write_text(report, "utf-8")


if __name__ == "__main__":
    main()
