"""What two phones tell together, beside each alone and beside the truth, on made sets filmed by two.

    python -m models.calibration.two_views --data DIR --set pair-judge

DIR holds the shards that ``pairs.py`` makes: the two clips of a set in each. Sets that are not joined
by the movement are tried again as if both files said when they were begun, by clocks that are a second
apart, and then as if a clap had told the clocks apart. Prints how many were joined, and how wrong angles
are.
"""

import argparse
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.codes import ProblemCode
from formcheck.landmarks.track import LandmarkTrack
from formcheck.measures.measure import measure_track
from formcheck.measures.table import SIDES, MeasureTable, Series, column_name
from formcheck.pipeline.settings import Settings
from formcheck.views.refusal import Refusal
from formcheck.views.together import FitOfViews, measure_together
from models.calibration.dataset import track_of
from models.calibration.markdown import table
from models.calibration.shards import Clip, read_shard
from models.calibration.verdicts import arm_truth

Array = NDArray[np.float64]
MEASURES = ("elbow_flexion", "shoulder_elevation", "plane_of_elevation", "axial_rotation")
_EVERY = 3
"""Neighbouring times err alike, so that every third of 15 a second counts."""
CLOCKS_APART_S = 1.0
"""Standard deviation of what the files' own times are off."""
_UNTIMED = (ProblemCode.VIEWS_NOT_TIMED, ProblemCode.VIEWS_OF_OTHER_SETS)
"""What the movement alone cannot tell, or tells otherwise."""
_LEAST = 5
"""Times that an arm must be known at, by each phone and by both, to count."""


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """One measure of one arm at the times that count: true, by either phone alone, and by both."""

    measure: str
    true: Array
    alone: tuple[Array, Array]
    both: Array
    sd: Array

    @property
    def errors(self) -> tuple[Array, Array, Array]:
        """How wrong the first phone, the second and both are (n,), degrees."""
        first, second, both = (
            (value - self.true + 180) % 360 - 180 for value in (*self.alone, self.both)
        )
        return first, second, both


def readings_of(folder: Path, set_name: str) -> tuple[list[Reading], Counter[str]]:
    """What is read of all sets, and how many were joined, by what timed them, or why not."""
    readings: list[Reading] = []
    became: Counter[str] = Counter()
    for path in sorted(folder.glob(f"{set_name}_*.npz")):
        clips = read_shard(path)
        tracks = (track_of(clips[0]), track_of(clips[1]))
        tables = (measure_track(tracks[0]), measure_track(tracks[1]))
        how, found = _joined(clips, tracks, tables)
        became[how] += 1
        if found is not None:
            readings += _readings(clips[0], tables, *found)
    return readings, became


def _joined(
    clips: Sequence[Clip],
    tracks: tuple[LandmarkTrack, LandmarkTrack],
    tables: tuple[MeasureTable, MeasureTable],
) -> tuple[str, tuple[MeasureTable, FitOfViews] | None]:
    together = partial(measure_together, tracks, tables, stature_m=Settings().stature_m)
    true_s = clips[0].about["starts_s"] - clips[1].about["starts_s"]
    apart_s = np.random.default_rng(clips[0].about["index"]).normal(0, CLOCKS_APART_S)
    found, how = together(), "joined by the movement"
    for more, by in (
        ({"stated_s": true_s + apart_s}, "the times in the files"),
        ({"offset_s": true_s}, "a clap"),
    ):
        if isinstance(found, Refusal) and found.code in _UNTIMED:
            found, how = together(**more), f"joined with {by}"
    if not isinstance(found, Refusal):
        return how, found
    return f"{found.code}{', judged in turn' if found.one_set else ''}", None


def _readings(
    clip: Clip, tables: tuple[MeasureTable, MeasureTable], both: MeasureTable, fit: FitOfViews
) -> Iterator[Reading]:
    at = slice(None, None, _EVERY)
    time_s = both.time_s[at]
    shown_s = np.arange(len(clip.truth)) / clip.about["rate_hz"]
    place = np.abs(shown_s[:, None] - time_s).argmin(axis=0)
    for side in SIDES:
        truth = arm_truth(clip, side)
        for measure in MEASURES:
            name = column_name(measure, side)
            own = [
                _nearest(tables[0].columns[name], tables[0].time_s, time_s),
                _nearest(tables[1].columns[name], tables[1].time_s, fit.clock.of(time_s)),
            ]
            value, sd = both.columns[name].value[at], both.columns[name].sd[at]
            true = truth[measure][place]
            told = np.isfinite(np.stack([true, *own, value, sd])).all(axis=0)
            if told.sum() >= _LEAST:
                yield Reading(
                    measure, true[told], (own[0][told], own[1][told]), value[told], sd[told]
                )


def _nearest(series: Series, time_s: Array, wanted_s: Array) -> Array:
    inside = (wanted_s >= time_s[0]) & (wanted_s <= time_s[-1])
    place = np.abs(time_s[:, None] - wanted_s).argmin(axis=0)
    return np.where(inside, series.value[place], np.nan)


def report(readings: Sequence[Reading], became: Counter[str]) -> str:
    """How many sets were joined, and a table of mean absolute errors over arms, degrees."""
    rows = []
    for measure in MEASURES:
        own = [one for one in readings if one.measure == measure]
        if not own:
            continue
        mean = np.array([[np.abs(error).mean() for error in one.errors] for one in own])
        error = np.concatenate([one.errors[2] for one in own])
        sd = np.concatenate([one.sd for one in own])
        cells = [
            str(len(own)),
            *(f"{value:.1f}" for value in mean.mean(axis=0)),
            f"{mean[:, :2].min(axis=1).mean():.1f}",
            f"{error.mean():+.1f}",
            f"{np.median(sd):.1f}",
            f"{100 * np.mean(np.abs(error) <= 2 * sd):.0f}",
        ]
        rows.append((measure, cells))
    head = (
        "arms",
        "first phone",
        "second",
        "both",
        "better of each arm",
        "bias",
        "sd",
        "% in 2 sd",
    )
    sets = ", ".join(f"{how} {count}" for how, count in became.most_common())
    return f"Sets: {sets}.\n\n{table('measure', rows, head)}"


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--set", dest="set_name", default="pair-judge")
    asked = parser.parse_args()
    print(report(*readings_of(asked.data / asked.set_name, asked.set_name)))


if __name__ == "__main__":
    main()
