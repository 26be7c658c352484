"""How far results repeat when a set is filmed again: the standard error of measurement.

    python -m models.calibration.reliability --data DIR

Measures every filming that ``filmed_again.py`` made, as far as formcheck would judge it, and writes the
standard error of measurement (SEM) of each measure from each view, the standard deviation of one set's
results over its filmings: to ``formcheck/records/data/sem.json`` for the product and to
``RELIABILITY.md`` and its part of ``REPORT.md`` for people.
"""

import argparse
import json
from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from formcheck.catalogue.measures import MEASURES
from formcheck.exercises.schema import Exercise
from formcheck.landmarks.sides import find_exchange, put_back
from formcheck.landmarks.track import LandmarkTrack
from formcheck.measures.measure import measure_track
from formcheck.measures.table import SIDES, MeasureTable, Side, column_name
from formcheck.movements.segment import find_reps
from formcheck.records.reliability import smallest_detectable_change, study_view
from models.calibration.dataset import track_of
from models.calibration.markdown import table
from models.calibration.shards import read_shard
from models.calibration.verdict_reliability import with_sections
from models.calibration.verdicts import exercise_of, judged_sides

HERE = Path(__file__).parent
SEM = HERE.parents[1] / "formcheck" / "records" / "data" / "sem.json"
VIEWS = {"front": (0, 30), "oblique": (30, 60), "side": (60, 120), "back": (120, 181)}
"""Turn of the body from the camera, degrees either way."""
Results = dict[tuple[str, str], float]
"""What a filming comes to, by column and statistic."""
_STATISTICS = {"highest": 95.0, "lowest": 5.0}
"""Percentiles over a filming that stand for what checks read: ``max`` and ``min``."""
_SEEN = 0.5
"""Share of a filming in which a measure must be seen to count in it."""
_LEAST_SETS = 3
"""Sets below which nothing is said of a measure from a view."""


def view_of(yaw_deg: float) -> str:
    """``front``, ``oblique``, ``side`` or ``back``."""
    turned = abs((yaw_deg + 180) % 360 - 180)
    return next(name for name, (low, high) in VIEWS.items() if low <= turned < high)


def as_followed(track: LandmarkTrack) -> LandmarkTrack | None:
    """The track with exchanged sides put back, as formcheck follows a person; None if nobody is found or
    nothing tells which side is which. Made clips keep no feet, which could tell.
    """
    seen = np.flatnonzero(track.tracked)
    if not len(seen):
        return None
    arrays = [values.copy() for values in (track.image_px, track.world_m, track.visibility)]
    image, world, visibility = (values[seen] for values in arrays)
    one_piece = np.zeros(len(seen), dtype=int)
    found = find_exchange(track.time_s[seen], one_piece, image[:, :, :2], world, visibility)
    if found.unclear:
        return None
    exchanged = seen[found.exchanged]
    put_back(np.isin(np.arange(len(track.time_s)), exchanged), *arrays)
    image, world, visibility = arrays
    return replace(track, image_px=image, world_m=world, visibility=visibility, exchanged=exchanged)


def results_of(measured: MeasureTable, sides: Collection[Side]) -> Results:
    """What one filming comes to: high and low end of each column of the trunk and of the judged sides that
    was seen half of the time.
    """
    found = {}
    for name, series in measured.columns.items():
        measure = measure_of(name)
        owners = sides if MEASURES[measure].sided else (None,)
        if name not in [column_name(measure, owner) for owner in owners]:
            continue
        seen = np.isfinite(series.value)
        if seen.mean() >= _SEEN:
            for statistic, percentile in _STATISTICS.items():
                found[name, statistic] = float(np.percentile(series.value[seen], percentile))
    return found


def sem_of(filmings: Sequence[Sequence[float]]) -> float:
    """The SEM, root of the variance within sets over their filmings, pooled by degrees of freedom."""
    squares = sum(len(one) * float(np.var(one)) for one in filmings)
    freedom = sum(len(one) - 1 for one in filmings)
    return float(np.sqrt(squares / freedom))


def judged_results(track: LandmarkTrack, exercise: Exercise) -> Results | None:
    """What a filming of an exercise comes to; None where formcheck judges no whole repetition in it."""
    followed = as_followed(track)
    if followed is None:
        return None
    measured = measure_track(followed)
    working = judged_sides(measured, exercise)
    reps = find_reps(measured, exercise, working) if working else ()
    whole = {rep.side for rep in reps if not rep.partial}
    sides = [side for side in working if whole & {side, "both"}]
    return results_of(measured, sides) if sides else None


def judge(data: Path) -> dict[str, Any]:
    """The SEM of each measure from each view over all sets on disk, judged arms and both ends together."""
    sets: dict[str, list[list[Results]]] = defaultdict(list)
    made, judged = 0, []
    for name in sorted({path.stem.rpartition("-")[0] for path in data.glob("set-*-*.npz")}):
        clips = [clip for path in sorted(data.glob(f"{name}-*.npz")) for clip in read_shard(path)]
        made += len(clips)
        exercise = exercise_of(clips[0].about)
        found = [judged_results(track_of(clip), exercise) for clip in clips] if exercise else []
        results = [one for one in found if one is not None]
        if len(results) > 1:
            judged.append(len(results))
            for view, part in by_view(results, clips[0].about["yaw_deg"]).items():
                sets[view].append(part)
    rows = [row for view, several in sets.items() for row in rows_of(view, several)]
    return {
        "sets": len(judged),
        "filmings": sum(judged),
        "left_out": made - sum(judged),
        "rows": sorted(rows, key=lambda row: (row["measure"], row["view"])),
    }


def by_view(results: Sequence[Results], yaw_deg: float) -> dict[str, list[Results]]:
    """What filmings come to, apart by the views that the product tells: the far arm has one of its own."""
    parts: dict[str, list[Results]] = defaultdict(lambda: [{} for _ in results])
    for number, one in enumerate(results):
        for (column, statistic), value in one.items():
            side = next((side for side in SIDES if f"_{side}_" in column), "")
            parts[study_view(yaw_deg, side)][number][column, statistic] = value
    return parts


def rows_of(view: str, sets: Sequence[Sequence[Results]]) -> Iterator[dict[str, Any]]:
    """The SEM of each measure over sets of one view, each given as what its filmings come to."""
    gathered: dict[str, dict[int, list[list[float]]]] = {}
    for number, results in enumerate(sets):
        for column in sorted({key for one in results for key in one}):
            values = [one[column] for one in results if column in one]
            if len(values) > 1:
                of_measure = gathered.setdefault(measure_of(column[0]), {})
                of_measure.setdefault(number, []).append(values)
    for measure, by_set in gathered.items():
        if len(by_set) >= _LEAST_SETS:
            sem = sem_of([values for several in by_set.values() for values in several])
            unit = MEASURES[measure].unit
            yield {"measure": measure, "view": view, "unit": unit, "sem": sem, "sets": len(by_set)}


def measure_of(column: str) -> str:
    """The measure that a column is of, without side and unit."""
    return max((name for name in MEASURES if column.startswith(name)), key=len)


def write(found: dict[str, Any]) -> None:
    """The data file of the product and the page for people."""
    SEM.parent.mkdir(exist_ok=True)
    rows = [{**row, "sem": round(row["sem"], 3)} for row in found["rows"]]
    lines = ",\n".join(f"  {json.dumps(row)}" for row in rows)
    SEM.write_text(
        f'{{"sets": {found["sets"]}, "filmings": {found["filmings"]}, '
        f'"left_out": {found["left_out"]}, "rows": [\n{lines}\n]}}\n'
    )
    shown = repeat_table(rows) if rows else _NOTHING_YET
    text = _PAGE.format(**{**found, "table": shown})
    (HERE / "RELIABILITY.md").write_text(text)
    report = HERE / "REPORT.md"
    report.write_text(with_sections(report.read_text("utf-8"), repeat_section()), "utf-8")


def repeat_table(rows: Sequence[dict[str, Any]]) -> str:
    """SEM and smallest detectable change by measure and view."""
    lines = []
    for row in rows:
        sem, unit = row["sem"], row["unit"]
        sdc = smallest_detectable_change(sem, 1, 1)
        cells = [row["view"], f"{sem:.1f} {unit}", f"{sdc:.1f} {unit}", str(row["sets"])]
        lines.append((row["measure"].replace("_", " "), cells))
    return table("measure", lines, ("view", "SEM", "SDC of two single sets", "sets"))


def repeat_section() -> str:
    """The part of ``REPORT.md`` on how far results repeat, as the product's data file has it."""
    found = json.loads(SEM.read_text("utf-8"))
    return (
        "## How far results repeat\n\n"
        f"{found['sets']} made sets, {found['filmings']} filmings that formcheck judges, the camera put "
        "up anew each time. Standard error of measurement (SEM) and smallest detectable change between two "
        "single sets, SDC95 = 1.96 · SEM · sqrt(2); [RELIABILITY.md](RELIABILITY.md) says how they were "
        "read and from where the formula is.\n\n" + repeat_table(found["rows"])
    )


_PAGE = """# How far results repeat

Made by `python -m models.calibration.filmed_again` and `python -m models.calibration.reliability`;
do not edit it by hand.

{sets} made sets of standing people who do an exercise, {filmings} filmings in all. {left_out} more were
left out, as formcheck would judge nothing in them: the movement is no exercise of the library, no arm is
seen to do a whole repetition (a filming lasts 7 to 9 seconds), the body is not recognised, or nothing tells
left from right. Only arms that do the exercise count; from the side, the one away from the camera is kept
apart, with rows of its own once enough sets show it. Each set is the same person and the same movement
every time; the camera was put up anew about where it had stood (turn around the person 6 degrees, distance
12 %, height 12 cm, aim 8 cm, all one standard deviation or the range either way), and clothes, room and
light were others. What a set comes to is the 95th and the 5th percentile of a measure over the filming,
which stand for the checks of a highest and a lowest value.

The **standard error of measurement (SEM)** is the standard deviation of a set's results over its
filmings, pooled over sets, judged arms and both ends. The **smallest detectable change** between the means
of k1 and k2 sessions is

    SDC95 = 1.96 · SEM · sqrt(1/k1 + 1/k2)

which for single sessions is the usual 1.96 · sqrt(2) · SEM (as in Caronni et al. 2024, J NeuroEng Rehabil
21, on the minimal detectable change, read in the abstract; the formula for means follows from errors
that are independent from session to session). Sets filmed without moving the camera share its error, so
a session counts once however many sets it has. A change beyond it may still be too small to matter: the
SDC says only what cannot be told from error.

What this rests on: rendered people, who do the very same movement every time. A person never does, so
that from real sets filmed again the SEM would be larger, and so would the SDC; each client's own sets that
are recorded as filmed again are pooled in as they come. For measures that are missing
from a view, which were seen in too few sets, the standard uncertainty that is stated with each reading
stands in.

{table}"""


_NOTHING_YET = """**No measure has been seen in three sets from one view yet.** Until more is filmed, the
standard uncertainty that is stated with each reading stands in for every measure.
"""


def main() -> None:
    """Read the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True)
    write(judge(parser.parse_args().data))


if __name__ == "__main__":
    main()
