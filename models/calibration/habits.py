"""Read the estimators' habit of reading faults as usual, and write what verdicts undo.

    python -m models.calibration.habits --data DIR

Truth is regressed on reading, both as departures from the middle of the target, over the checks of
the made clips of ``tune`` and ``trial``, for each measure and each view that formcheck measures.
Prints how much of a departure is read by how large it truly is, and writes
``formcheck/checks/data/habits.json``.
"""

import argparse
import json
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from formcheck.catalogue.views import FilmingView
from models.calibration.dataset import SCALED_ON, clips_of
from models.calibration.markdown import table
from models.calibration.verdicts import Ruling

VERSION = 1
LEAST_ROWS, LEAST_OUTSIDE = 60, 15
"""Fewer checks than this, or fewer that are truly outside, teach no slope. A proposal."""
LEAST_SLOPE = 0.4
"""A habit that hides more than this is no habit any more but a measure that is not seen; the rest
goes into the uncertainty. A proposal."""
_AMOUNTS = ((-np.inf, 0.0), (0.0, 0.5), (0.5, 1.5), (1.5, np.inf))
"""Amounts of fault that are told of together: how far beyond a limit, in tolerances."""


@dataclass(frozen=True, slots=True)
class Fitted:
    """The habit in one measure and view, and on how many checks it was read."""

    slope: float
    extra_sd: float
    checks: int


def fit(rulings: Sequence[Ruling]) -> Fitted | None:
    """The habit of some readings of one measure; None where too few show any fault."""
    read, true, sd = _departures(rulings)
    outside = sum(one.beyond > 0 for one in rulings)
    if len(read) < LEAST_ROWS or outside < LEAST_OUTSIDE:
        return None
    weight = 1 / np.maximum(sd, np.median(sd) / 4) ** 2
    steepness = float((weight * read * true).sum() / (weight * read**2).sum())
    slope = float(np.clip(1 / max(steepness, 1e-6), LEAST_SLOPE, 1.0))
    rest = true - read / slope
    extra = max(float(np.mean(rest**2) - np.mean((sd / slope) ** 2)), 0.0)
    return Fitted(round(slope, 2), round(float(np.sqrt(extra)), 2), len(read))


def habits(rulings: Iterable[Ruling]) -> dict[tuple[str, FilmingView], Fitted]:
    """The habit of each measure from each view that shows enough faults to tell."""
    found = {key: fit(members) for key, members in _groups(rulings).items()}
    return {key: one for key, one in sorted(found.items()) if one is not None}


def as_data(found: dict[tuple[str, FilmingView], Fitted], read_on: str) -> dict[str, Any]:
    """The table as formcheck reads it."""
    rows = [
        {
            "measure": measure,
            "view": str(view),
            "slope": one.slope,
            "extra_sd": one.extra_sd,
            "checks": one.checks,
        }
        for (measure, view), one in found.items()
    ]
    return {"version": VERSION, "read_on": read_on, "habits": rows}


def by_amount(rulings: Iterable[Ruling]) -> str:
    """A table of the share of a departure that is read, by how large it truly is."""
    rows = []
    for (measure, view), members in sorted(_groups(rulings).items()):
        cells = []
        for least, most in _AMOUNTS:
            some = [one for one in members if least < one.beyond <= most]
            read, true, _ = _departures(some)
            share = (read * true).sum() / (true**2).sum() if len(read) else np.nan
            cells.append(f"{share:.2f} ({len(read)})" if len(read) else "-")
        rows.append((f"{measure}, {view}", cells))
    heads = ("within", "up to half a tolerance beyond", "to one and a half", "more")
    return table("measure, view", rows, heads)


def _groups(rulings: Iterable[Ruling]) -> dict[tuple[str, FilmingView], list[Ruling]]:
    groups: dict[tuple[str, FilmingView], list[Ruling]] = {}
    for one in rulings:
        known = one.has_habit and one.value is not None and one.sd is not None
        if known and one.seen_from is not None:
            groups.setdefault((one.measure, one.seen_from), []).append(one)
    return groups


def _departures(rulings: Sequence[Ruling]) -> tuple[Any, Any, Any]:
    """Departures from the usual value as read and as they truly are, and the stated sd."""
    rows = [
        (one.value - one.usual, one.true - one.usual, one.sd)
        for one in rulings
        if one.value is not None
    ]
    return tuple(np.array(rows, dtype=float).reshape(-1, 3).T)


def main() -> None:
    """Command line."""
    from models.calibration.report import all_rulings, judge  # noqa: PLC0415 - needs what only the fit does

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--sets", nargs="+", default=list(SCALED_ON))
    parser.add_argument("--out", type=Path, default=Path("formcheck/checks/data/habits.json"))
    arguments = parser.parse_args()
    clips = [clip for name in arguments.sets for clip in clips_of(arguments.data, name)]
    rulings = all_rulings(clips, [one for clip in clips for one in judge(clip)])
    sys.stdout.write(by_amount(rulings) + "\n")
    read_on = f"rendered people of {' and '.join(arguments.sets)}, {len(clips)} clips"
    data = as_data(habits(rulings), read_on)
    arguments.out.write_text(json.dumps(data, indent=2) + "\n", "utf-8")


if __name__ == "__main__":
    main()
