"""How far the shoulder truly travels after a push-up's return, by how far its mark is seen to.

    python -m models.calibration.extra_push --data DIR [--sets trial tune]

Prints what ``FOLLOW_CM`` in ``formcheck/movements/repetitions.py`` is written from: of every whole
push-up of the sets, the travel of the mark as read and the true travel of the shoulders.
"""

import argparse
import sys
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from formcheck.exercises.library import load_exercise
from formcheck.measures.measure import measure_track
from formcheck.measures.table import SIDES
from formcheck.movements.repetitions import FOLLOW_CM
from formcheck.movements.segment import find_reps, working_sides
from formcheck.movements.types import Rep
from models.calibration.dataset import SCALED_ON, TARGETS, clips_of, track_of, truth_for
from models.calibration.markdown import table
from models.calibration.shards import Clip
from models.calibration.verdicts import TRUNK_CM

_BINS_CM = (0.0, 0.3, 1.0, 2.0, 3.0, 4.0, 9.0)
_HEAD = ("push-ups", "true, median", "true, mean", "off by (rms), as written", "truly under 1 cm")


def travels(clip: Clip) -> Iterator[tuple[float, float]]:
    """The travel of the mark as read and the true one, in cm, after each whole push-up."""
    exercise, measured = load_exercise("push-up-plus"), measure_track(track_of(clip))
    sides = working_sides(measured, exercise)
    if not sides or any(problem.fatal for problem in measured.problems):
        return
    reps = find_reps(measured, exercise, sides)
    forward = TARGETS.index("protraction")
    truth_cm = TRUNK_CM * np.mean([truth_for(clip, side)[:, forward] for side in SIDES], axis=0)
    last_s = float(measured.time_s[-1])
    for rep, stop_s in zip(reps, [*(after.start_s for after in reps[1:]), last_s], strict=True):
        if not rep.partial and "follow_range" in rep.measures:
            window = (measured.time_s >= rep.top_end_s) & (measured.time_s <= stop_s)
            during = truth_cm[: len(window)][window[: len(truth_cm)]]
            yield _shown_cm(rep), float(during.max() - during.min())


def _shown_cm(rep: Rep) -> float:
    read, true, _ = FOLLOW_CM
    return float(np.interp(rep.measures["follow_range"].value, true, read))


def told(pairs: NDArray[np.float64]) -> str:
    """A table of the true travel by what was read, from (n, 2) of both."""
    shown, true = pairs.T
    off = true - np.interp(shown, *FOLLOW_CM[:2])
    rows = []
    for low, high in pairwise(_BINS_CM):
        here = (shown >= low) & (shown < high)
        if here.any():
            cells = [str(here.sum()), f"{np.median(true[here]):.1f}", f"{true[here].mean():.1f}"]
            cells += [f"{np.sqrt(np.mean(off[here] ** 2)):.1f}", str((true[here] < 1).sum())]
            rows.append((f"{low:g} to {high:g} cm", cells))
    return table("read", rows, _HEAD)


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--sets", nargs="+", default=[*SCALED_ON])
    arguments = parser.parse_args()
    pairs = [
        pair
        for name in arguments.sets
        for clip in clips_of(arguments.data, name)
        if clip.about["movement"] == "push-up-plus"
        for pair in travels(clip)
    ]
    sys.stdout.write(told(np.array(pairs)))


if __name__ == "__main__":
    main()
