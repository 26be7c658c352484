"""What it gains to read a set as a change from one that was signed as good, rather than by itself.

    python -m models.calibration.baseline_gain --data DIR

Reads the sets that ``signed_sets.py`` makes, as ``records.baseline`` would. Writes ``BASELINE.md``, and
for the product how sure such a change is (``formcheck/records/data/change.json``).
"""

import argparse
import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from formcheck.checks.judge import judge_reps
from formcheck.checks.statistics import read_check
from formcheck.exercises.library import load_exercise
from formcheck.measures.measure import measure_track
from formcheck.measures.table import SIDES, MeasureTable
from formcheck.movements.segment import find_reps, working_sides
from formcheck.movements.types import Rep
from formcheck.records.reliability import (
    AS_SURE,
    NORMAL_95,
    Basis,
    Sem,
    change_sd,
    changes,
    sem_for,
    study_view,
)
from models.calibration.dataset import track_of, truth_for
from models.calibration.markdown import table
from models.calibration.shards import Clip, read_shard
from models.calibration.truth import ARM_COLUMNS
from models.calibration.verdicts import (
    EXERCISES,
    TRUNK_CM,
    arm_truth,
    true_measures,
    true_table,
)

Array = NDArray[np.float64]
HERE = Path(__file__).parent
CHANGES = HERE.parents[1] / "formcheck" / "records" / "data" / "change.json"
_LEAST_PAIRS = 30
"""Pairs below which nothing is said of a measure."""
FAULTS = {
    "hike": ("hike", "a hike of 3 cm"),
    "elbow": ("elbow_flexion", "an elbow 10 degrees off"),
    "no-plus": ("follow_range", "a plus left out"),
}
"""Measure and name of each fault."""
_WAYS = (", by itself", ", change")
"""Endings of the columns of both ways to read a set."""
_PROTRACTION = ARM_COLUMNS.index("protraction")


@dataclass(frozen=True, slots=True)
class Reading:
    """A check of a set, as its mean over whole repetitions: read, its stated sd, and the truth."""

    measure: str
    value: float
    sd: float
    true: float


@dataclass(frozen=True, slots=True)
class Pair:
    """A set beside the signed one: the errors of both ways to read it, and what each is said to be.

    ``stated`` are the uncertainties of both readings, ``of_filming`` is sqrt(2) · SEM.
    """

    fault: str
    measure: str
    view: str
    kind: str
    change: float
    absolute_error: float
    absolute_sd: float
    change_error: float
    stated: tuple[float, float]
    of_filming: float

    @property
    def change_sd(self) -> float:
        """The standard uncertainty that the product states of the change."""
        sem = Sem(self.of_filming / np.sqrt(2), Basis.STUDY)
        return change_sd(self.measure, sem, self.stated)

    @property
    def as_sure(self) -> bool:
        """Whether both readings are stated as surely as is usual for their measure."""
        usual = changes().get(self.measure)
        return usual is not None and max(self.stated) <= AS_SURE * usual.stated

    def told(self, error: float, sd: float) -> bool:
        """Whether a reading with that error and sd differs from the signed set by more than error does."""
        return abs(self.change + error) > NORMAL_95 * sd


def readings_of(clip: Clip) -> dict[tuple[str, str], Reading]:
    """The checks of a made set that the faults show in, by check and side."""
    exercise = load_exercise(EXERCISES[clip.about["movement"]])
    read = measure_track(track_of(clip))
    sides = working_sides(read, exercise)
    arms = {side: arm_truth(clip, side) for side in SIDES}
    truth = true_table(read, true_measures(arms))
    wanted = {measure for measure, _ in FAULTS.values()}
    checks = {check.id: check for check in exercise.checks if check.measure in wanted}
    found: dict[tuple[str, str], list[Reading]] = defaultdict(list)
    for judged in judge_reps(read, exercise, find_reps(read, exercise, sides)) if sides else ():
        for one in judged.findings if not judged.rep.partial else ():
            if one.id not in checks or one.value is None or one.uncertainty is None:
                continue
            if one.measure == "follow_range":
                true: float | None = plus_cm(clip, read, judged.rep)
            else:
                true = read_check(truth, judged.rep, checks[one.id]).value
            if true is not None:
                reading = Reading(one.measure, one.value, one.uncertainty, true)
                found[one.id, one.side or ""].append(reading)
    return {key: _mean(several) for key, several in found.items()}


def plus_cm(clip: Clip, read: MeasureTable, rep: Rep) -> float:
    """How far the shoulders truly come forward in a repetition, mean of both."""
    inside = (read.time_s >= rep.start_s) & (read.time_s <= rep.end_s)
    forward = [truth_for(clip, side)[:, _PROTRACTION][inside] for side in SIDES]
    return float(TRUNK_CM * np.mean([np.ptp(one) for one in forward]))


def _mean(several: Sequence[Reading]) -> Reading:
    value, sd, true = np.mean([(one.value, one.sd, one.true) for one in several], axis=0)
    return Reading(several[0].measure, float(value), float(sd), float(true))


def pairs_of(data: Path) -> Iterator[Pair]:
    """Every set beside the signed one of the same person and exercise."""
    for path in sorted(data.glob("*-signed.npz")):
        (signed,) = read_shard(path)
        before = readings_of(signed)
        stem = path.name.removesuffix("signed.npz")
        for kind in ("again", *FAULTS):
            if (later := path.with_name(f"{stem}{kind}.npz")).exists():
                (clip,) = read_shard(later)
                yield from _pairs(before, readings_of(clip), kind, float(signed.about["yaw_deg"]))


def _pairs(
    before: Mapping[tuple[str, str], Reading],
    after: Mapping[tuple[str, str], Reading],
    kind: str,
    yaw_deg: float,
) -> Iterator[Pair]:
    for fault, (measure, _) in FAULTS.items():
        for key in before.keys() & after.keys():
            one, signed = after[key], before[key]
            if one.measure != measure or kind not in ("again", fault):
                continue
            sem = sem_for(measure, key[1], yaw_deg, one.sd)
            error = one.value - one.true
            if sem is not None:
                yield Pair(
                    fault,
                    measure,
                    study_view(yaw_deg),
                    kind,
                    one.true - signed.true,
                    error,
                    one.sd,
                    error - (signed.value - signed.true),
                    (signed.sd, one.sd),
                    float(np.sqrt(2) * sem.value),
                )


def studied(pairs: Sequence[Pair]) -> Iterator[dict[str, object]]:
    """The usual stated uncertainty of each measure, and how far changes err beyond sqrt(2) · SEM."""
    for measure in sorted({one.measure for one in pairs}):
        mine = [one for one in pairs if one.measure == measure]
        usual = float(np.median([one.stated for one in mine]))
        sure = [one for one in mine if max(one.stated) <= AS_SURE * usual]
        if len(sure) >= _LEAST_PAIRS:
            beyond = [abs(one.change_error) / one.of_filming for one in sure]
            factor = max(1.0, float(np.quantile(beyond, 0.95)) / NORMAL_95)
            yield {
                "measure": measure,
                "stated": round(usual, 2),
                "factor": round(factor, 2),
                "pairs": len(sure),
            }


def rows(pairs: Sequence[Pair]) -> list[tuple[str, list[str]]]:
    """Rows of each fault: all of it, the pairs that are as sure as usual, and by view."""
    made = []
    for fault, (_, name) in FAULTS.items():
        mine = [one for one in pairs if one.fault == fault]
        if not mine:
            continue
        made.append((f"{name}, all views", _cells(mine)))
        if sure := [one for one in mine if one.as_sure]:
            made.append((f"{name}, as sure", _cells(sure)))
        for view in sorted({one.view for one in mine}):
            made.append((f"{name}, {view}", _cells([one for one in mine if one.view == view])))
    return made


def _cells(pairs: Sequence[Pair]) -> list[str]:
    absolute = np.array([(one.absolute_error, one.absolute_sd) for one in pairs])
    change = np.array([(one.change_error, one.change_sd) for one in pairs])
    faulty = [one for one in pairs if one.kind == one.fault]
    clean = [one for one in pairs if one.kind == "again"]
    return [
        str(len(pairs)),
        *(f"{np.median(np.abs(errors[:, 0])):.1f}" for errors in (absolute, change)),
        *(f"{np.sqrt(np.mean(errors[:, 0] ** 2)):.1f}" for errors in (absolute, change)),
        *(f"{np.median(errors[:, 1]):.1f}" for errors in (absolute, change)),
        *(_share(np.abs(e[:, 0]) <= NORMAL_95 * e[:, 1]) for e in (absolute, change)),
        *(_share(_told(faulty, way)) for way in ("absolute", "change")),
        *(_share(_told(clean, way)) for way in ("absolute", "change")),
    ]


def _told(pairs: Iterable[Pair], way: str) -> list[bool]:
    return [one.told(getattr(one, f"{way}_error"), getattr(one, f"{way}_sd")) for one in pairs]


def _share(which: Sequence[bool] | NDArray[np.bool_]) -> str:
    return f"{100 * np.mean(which):.0f} %" if len(which) else "-"


_HEAD = (
    "readings",
    *(f"{what}{way}" for what in ("median error", "rms error", "stated") for way in _WAYS),
    *(f"{what}{way}" for what in ("inside 95 %", "faults told", "clean told") for way in _WAYS),
)
_PAGE = """# A set beside the one that was signed as good

Made by `python -m models.calibration.signed_sets` and `python -m models.calibration.baseline_gain`; do
not edit it by hand.

{people} made people, {sets} exercises done by them, each filmed when it was signed, once more done just as
well, and once with each fault; every time the camera was put up anew about where it had stood, and
clothes, room and light were others. Each pair of columns is a reading by itself, and the change from the
signed set. Errors and the stated standard uncertainty (median) are in degrees for the elbow and in
centimetres otherwise. A difference is told where it is larger than 1.96 standard uncertainties: by itself
from what the person truly did when the set was signed, which nobody knows in practice; "clean told" is how
often that was said of the set done just as well. Readings of one person are not independent, and rendered
people do the same movement every time.

{table}
"As sure": pairs of which both readings are stated no less surely than {as_sure} times the usual for their
measure. Of such, the product takes the change for sqrt(2) · SEM (see [RELIABILITY.md](RELIABILITY.md))
times the factor below, found on these same pairs so that 95 % lie inside; elsewhere for no surer than the
less sure of both readings.

{factors}"""


def main() -> None:
    """Read the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True)
    data = parser.parse_args().data
    signed = [path.name for path in data.glob("*-signed.npz")]
    pairs = list(pairs_of(data))
    found = list(studied(pairs))
    lines = ",\n".join(f"  {json.dumps(row)}" for row in found)
    CHANGES.write_text(f'{{"sets": {len(signed)}, "rows": [\n{lines}\n]}}\n')
    changes.cache_clear()
    factors = [(str(row.pop("measure")), [str(value) for value in row.values()]) for row in found]
    page = _PAGE.format(
        people=len({name.split("-")[0] for name in signed}),
        sets=len(signed),
        table=table("fault, view", rows(pairs), _HEAD),
        as_sure=AS_SURE,
        factors=table("measure", factors, ("usually stated", "factor", "pairs")),
    )
    (HERE / "BASELINE.md").write_text(page)


if __name__ == "__main__":
    main()
