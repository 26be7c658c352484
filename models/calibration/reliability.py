"""How far results repeat when a set is filmed again: the standard error of measurement.

    python -m models.calibration.reliability --data DIR

Measures every filming that ``filmed_again.py`` made and writes the standard error of measurement (SEM)
of each measure from each view, the standard deviation of one set's results over its filmings: to
``formcheck/records/data/sem.json`` for the product and to ``RELIABILITY.md`` for people.
"""

import argparse
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from formcheck.catalogue.measures import MEASURES
from formcheck.measures.measure import measure_track
from formcheck.measures.table import MeasureTable
from models.calibration.dataset import track_of
from models.calibration.markdown import table
from models.calibration.shards import read_shard

HERE = Path(__file__).parent
SEM = HERE.parents[1] / "formcheck" / "records" / "data" / "sem.json"
VIEWS = {"front": (0, 30), "oblique": (30, 60), "side": (60, 120), "back": (120, 181)}
"""Turn of the body from the camera, degrees either way."""
_STATISTICS = {"highest": 95.0, "lowest": 5.0}
"""Percentiles over a filming that stand for what checks read: ``max`` and ``min``."""
_SEEN = 0.5
"""Share of a filming in which a measure must be seen to count in it."""
_LEAST_FREEDOM = 10
"""Degrees of freedom below which nothing is said of a measure from a view."""


def view_of(yaw_deg: float) -> str:
    """``front``, ``oblique``, ``side`` or ``back``."""
    turned = abs((yaw_deg + 180) % 360 - 180)
    return next(name for name, (low, high) in VIEWS.items() if low <= turned < high)


def results_of(measured: MeasureTable) -> dict[tuple[str, str], float]:
    """What one filming comes to: high and low end of each column that was seen half of the time."""
    found = {}
    for name, series in measured.columns.items():
        seen = np.isfinite(series.value)
        if seen.mean() >= _SEEN:
            for statistic, percentile in _STATISTICS.items():
                found[name, statistic] = float(np.percentile(series.value[seen], percentile))
    return found


def sem_of(filmings: Sequence[Sequence[float]]) -> tuple[float, int]:
    """The SEM, root of the variance within sets over their filmings, and its degrees of freedom."""
    squares = sum(len(one) * float(np.var(one)) for one in filmings)
    freedom = sum(len(one) - 1 for one in filmings)
    return float(np.sqrt(squares / freedom)), freedom


def judge(data: Path) -> dict[str, Any]:
    """The SEM of each measure from each view over all sets on disk, arms and both ends together."""
    gathered: dict[tuple[str, str], list[list[float]]] = {}
    sets = filmings = 0
    for name in sorted({path.stem.rpartition("-")[0] for path in data.glob("set-*-*.npz")}):
        clips = [clip for path in sorted(data.glob(f"{name}-*.npz")) for clip in read_shard(path)]
        if len(clips) < 2:
            continue
        view = view_of(clips[0].about["yaw_deg"])
        results = [results_of(measure_track(track_of(clip))) for clip in clips]
        sets, filmings = sets + 1, filmings + len(clips)
        for column in sorted({key for one in results for key in one}):
            values = [one[column] for one in results if column in one]
            if len(values) > 1:
                gathered.setdefault((measure_of(column[0]), view), []).append(values)
    rows = []
    for (measure, view), several in sorted(gathered.items()):
        sem, freedom = sem_of(several)
        if freedom >= _LEAST_FREEDOM:
            unit = MEASURES[measure].unit
            rows.append(
                {"measure": measure, "view": view, "unit": unit, "sem": sem, "freedom": freedom}
            )
    return {"sets": sets, "filmings": filmings, "rows": rows}


def measure_of(column: str) -> str:
    """The measure that a column is of, without side and unit."""
    return max((name for name in MEASURES if column.startswith(name)), key=len)


def write(found: dict[str, Any]) -> None:
    """The data file of the product and the page for people."""
    SEM.parent.mkdir(exist_ok=True)
    rows = [{**row, "sem": round(row["sem"], 3)} for row in found["rows"]]
    lines = ",\n".join(f"  {json.dumps(row)}" for row in rows)
    SEM.write_text(
        f'{{"sets": {found["sets"]}, "filmings": {found["filmings"]}, "rows": [\n{lines}\n]}}\n'
    )
    body = table(
        "measure",
        [
            (
                row["measure"].replace("_", " "),
                [
                    row["view"],
                    f"{row['sem']:.1f} {row['unit']}",
                    f"{1.96 * np.sqrt(2) * row['sem']:.1f} {row['unit']}",
                    str(row["freedom"]),
                ],
            )
            for row in rows
        ],
        ("view", "SEM", "SDC of two single sets", "degrees of freedom"),
    )
    text = _PAGE.format(sets=found["sets"], filmings=found["filmings"], table=body)
    (HERE / "RELIABILITY.md").write_text(text)


_PAGE = """# How far results repeat

Made by `python -m models.calibration.filmed_again` and `python -m models.calibration.reliability`;
do not edit it by hand.

{sets} made sets of standing people who do an exercise, {filmings} filmings in all. Each set is the same
person and the same movement every time; the camera was put up anew about where it had stood (turn
around the person 6 degrees, distance 12 %, height 12 cm, aim 8 cm, all one standard deviation or the
range either way), and clothes, room and light were others. What a set comes to is the 95th and the 5th
percentile of a measure over the filming, which stand for the checks of a highest and a lowest value.

The **standard error of measurement (SEM)** is the standard deviation of a set's results over its
filmings, pooled over sets, arms and both ends. The **smallest detectable change** between the means of
k1 and k2 sessions is

    SDC95 = 1.96 · SEM · sqrt(1/k1 + 1/k2)

which for single sessions is the usual 1.96 · sqrt(2) · SEM (as in Caronni et al. 2024, J NeuroEng Rehabil
21, on the minimal detectable change, read in the abstract; the formula for means follows from errors
that are independent from session to session). Sets filmed without moving the camera share its error, so
a session counts once however many sets it has. A change beyond it may still be too small to matter: the
SDC says only what cannot be told from error.

What this rests on: rendered people, who do the very same movement every time. A person never does, so
that from real sets filmed again the SEM would be larger, and so would the SDC; each client's own sets that
are recorded as filmed again are pooled in as they come. Measures that are missing from a view were seen
in too few sets, and no change of them is told from there until the client's own sets say how far they
repeat.

{table}
"""


def main() -> None:
    """Read the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True)
    write(judge(parser.parse_args().data))


if __name__ == "__main__":
    main()
