"""Read the estimators' habit of reading faults as usual, and write what verdicts undo.

    python -m models.calibration.habits --data DIR [--sets tune trial free-tune] [--judge judge]

At the top of a made exercise-like movement an arm would be in a known place if the movement were
done as it usually is. Truth is regressed on reading, both as departures from that place, for each
measure and each view that formcheck measures: one row for each arm of a clip, as its moments err
alike. Writes ``formcheck/checks/data/habits.json`` and prints how much of a departure is read, by how
large it truly is, and how often the truth lies within two standard uncertainties, before and after,
on the sets of ``--judge``. It takes a third of a second for each clip.
"""

import argparse
import json
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.views import FilmingView
from formcheck.checks.habits import NO_HABIT, Habit
from formcheck.measures.angles import angle_between_deg, elevation_deg, plane_of_elevation_deg
from formcheck.measures.measure import measure_track
from formcheck.measures.posture import posture_from
from formcheck.measures.table import SIDES, Side
from models.calibration.dataset import (
    SCALED_ON,
    SEEN,
    clips_of,
    track_of,
    truth_for,
    visibility,
)
from models.calibration.exercises import MOVES
from models.calibration.markdown import table
from models.calibration.shards import Clip

Array = NDArray[np.float64]
VERSION = 2
LEAST_ROWS, LEAST_AWAY = 30, 10
"""Fewer arms than this, or fewer that are away from the usual place, teach no habit. A proposal."""
AWAY_DEG = {
    "elbow_flexion": 15.0,
    "shoulder_elevation": 10.0,
    "plane_of_elevation": 15.0,
}
"""Departures from which somebody does it otherwise than usual, by measure. Leans are left out, as people
of the free sets stoop whatever their arms do. A proposal."""
LEAST_SLOPE = 0.4
"""A habit that hides more than this is no habit any more but a measure that is not seen; the rest
goes into the uncertainty. A proposal."""
TOP_SHARE = 0.9
"""The top of a movement: as far from its beginning as this share of the furthest. A proposal."""
LEAST_MOVE_DEG = 15.0
"""Arms that move less do not do the movement. A proposal."""
_WITHIN_95 = 1.96
_PLACES = {
    move.name: {
        "shoulder_elevation": move.top[0],
        "plane_of_elevation": move.top[1],
        "elbow_flexion": move.top[3],
    }
    for move in MOVES
}


@dataclass(frozen=True, slots=True)
class Departure:
    """What one arm of a clip does otherwise than usual: as read, with its standard uncertainty, and as it
    truly is; all in degrees.
    """

    measure: str
    view: FilmingView
    read: float
    true: float
    sd: float

    @property
    def away(self) -> bool:
        """Whether it is truly far from usual."""
        return abs(self.true) >= AWAY_DEG[self.measure]


@dataclass(frozen=True, slots=True)
class Fitted:
    """The habit in one measure and view, and on how many arms it was read."""

    slope: float
    extra_sd: float
    arms: int


def departures(clip: Clip) -> list[Departure]:
    """Those of the arms that do a clip's movement; none of what is not known to have a usual place."""
    usual = _PLACES.get(clip.about["movement"])
    if usual is None or clip.about["posture"] not in ("standing", "sitting"):
        return []
    track = track_of(clip)
    posture, read = posture_from(track), measure_track(track)
    view = read.view.name.general
    if view is None:
        return []
    found = []
    for side in SIDES:
        true = _true_values(clip, side)
        top = _at_top(true) & (visibility(posture, side) >= SEEN)[: len(clip.truth)]
        for measure, values in true.items():
            series = read.series(measure, side)
            known = top & np.isfinite(values) & np.isfinite(series.value) & np.isfinite(series.sd)
            if known.any():
                place = usual[measure]
                found.append(
                    Departure(
                        measure,
                        view,
                        _off(float(np.median(series.value[known])) - place),
                        _off(float(np.median(values[known])) - place),
                        float(np.median(series.sd[known])),
                    )
                )
    return found


def _true_values(clip: Clip, side: Side) -> dict[str, Array]:
    truth = truth_for(clip, side)
    upper, fore = truth[:, 0:3], truth[:, 3:6]
    elevation = elevation_deg(upper)
    off_poles = (elevation >= 30) & (elevation <= 150)
    return {
        "elbow_flexion": angle_between_deg(upper, fore),
        "shoulder_elevation": elevation,
        "plane_of_elevation": np.where(off_poles, plane_of_elevation_deg(upper), np.nan),
    }


def _at_top(true: dict[str, Array]) -> NDArray[np.bool_]:
    """(n,) True at the top of the movement; nowhere for an arm that rests."""
    moved = np.hypot(*(true[m] - true[m][0] for m in ("elbow_flexion", "shoulder_elevation")))
    return np.asarray((moved >= TOP_SHARE * moved.max()) & (moved.max() >= LEAST_MOVE_DEG))


def _off(angle_deg: float) -> float:
    return (angle_deg + 180) % 360 - 180


def fit(rows: Sequence[Departure]) -> Fitted | None:
    """The habit of some readings of one measure; None where too few do it otherwise than usual.

    ``extra_sd`` makes 95 % of the truths lie within 1.96 standard uncertainties.
    """
    if len(rows) < LEAST_ROWS or sum(row.away for row in rows) < LEAST_AWAY:
        return None
    read, true, sd = (np.array([getattr(row, k) for row in rows]) for k in ("read", "true", "sd"))
    weight = 1 / np.maximum(sd, np.median(sd) / 4) ** 2
    steepness = float((weight * read * true).sum() / (weight * read**2).sum())
    slope = float(np.clip(1 / max(steepness, 1e-6), LEAST_SLOPE, 1.0))
    left = np.quantile(np.abs(true - read / slope), 0.95) / _WITHIN_95
    extra = max(float(left**2 - np.mean((sd / slope) ** 2)), 0.0)
    return Fitted(round(slope, 2), round(float(np.sqrt(extra)), 1), len(rows))


_Key = tuple[str, FilmingView]


def habits(rows: Iterable[Departure]) -> dict[_Key, Fitted]:
    """The habit of each measure from each view in which enough is done otherwise than usual."""
    found = {key: fit(members) for key, members in _groups(rows).items()}
    return {key: one for key, one in sorted(found.items()) if one is not None}


def as_data(found: dict[_Key, Fitted], read_on: str) -> dict[str, Any]:
    """The table as formcheck reads it."""
    rows = [
        {
            "measure": measure,
            "view": str(view),
            "slope": one.slope,
            "extra_sd": one.extra_sd,
            "arms": one.arms,
        }
        for (measure, view), one in found.items()
    ]
    return {"version": VERSION, "read_on": read_on, "habits": rows}


def told(rows: Iterable[Departure], found: dict[_Key, Fitted]) -> str:
    """A table of the share of a departure that is read, and of how often the truth lies within two
    standard uncertainties, as stated and with the habit undone.
    """
    lines = []
    for key, members in sorted(_groups(rows).items()):
        one = found.get(key, Fitted(1.0, 0.0, 0))
        away = [row for row in members if row.away]
        cells = [str(len(members)), str(len(away)), _share_read(away)]
        cells += [f"{one.slope:g}", f"{one.extra_sd:g}"]
        for some in (members, away):
            cells += [_covered(some, NO_HABIT), _covered(some, Habit(one.slope, one.extra_sd))]
        lines.append((", ".join(key), cells))
    return table("measure, view", lines, _HEAD)


_HEAD = (
    "arms", "away", "share read", "slope", "extra sd", "% in 2 sd", "undone", "% of away", "undone",
)  # fmt: skip


def _share_read(rows: Sequence[Departure]) -> str:
    total = sum(row.true**2 for row in rows)
    return f"{sum(row.read * row.true for row in rows) / total:.2f}" if rows else "-"


def _covered(rows: Sequence[Departure], habit: Habit) -> str:
    corrected = [(habit.corrected(row.read, row.sd), row.true) for row in rows]
    inside = [abs(value - true) <= 2 * sd for (value, sd), true in corrected]
    return f"{100 * np.mean(inside):.0f}" if rows else "-"


def _groups(rows: Iterable[Departure]) -> dict[_Key, list[Departure]]:
    groups: dict[_Key, list[Departure]] = {}
    for row in rows:
        groups.setdefault((row.measure, row.view), []).append(row)
    return groups


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--sets", nargs="+", default=[*SCALED_ON, "free-tune"])
    parser.add_argument("--judge", nargs="+", default=["judge", "free-judge"])
    parser.add_argument("--out", type=Path, default=Path("formcheck/checks/data/habits.json"))
    arguments = parser.parse_args()

    def rows_of(names: Sequence[str]) -> list[Departure]:
        return [
            row
            for name in names
            for clip in clips_of(arguments.data, name)
            for row in departures(clip)
        ]

    rows = rows_of(arguments.sets)
    found = habits(rows)
    read_on = f"rendered people of {', '.join(arguments.sets)}"
    arguments.out.write_text(json.dumps(as_data(found, read_on), indent=2) + "\n", "utf-8")
    for title, some in (("Read on", rows), ("Judged on", rows_of(arguments.judge))):
        sys.stdout.write(f"{title}:\n\n{told(some, found)}\n")


if __name__ == "__main__":
    main()
