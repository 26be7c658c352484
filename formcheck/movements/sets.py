"""Sets: repetitions of one side with long pauses between them."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from formcheck.movements.types import Rep

LONGER_THAN_USUAL = 2.0
"""A pause between two sets is at least this many times as long as the clip's usual pause between two
repetitions: whoever always rests between long holds has not begun a new set. A proposal."""


def numbered_sets(reps: Sequence[Rep], gap_s: float) -> list[Rep]:
    """Repetitions of one side, in order of time, each with the number of its set, from 1.

    A new set begins after a pause of at least ``gap_s`` that is longer than usual in this clip. What
    was broken off in a pause is no rest, and belongs to the set before it.
    """
    whole = [rep for rep in reps if not rep.partial]
    pauses_s = [_pause_s(reps, before, after) for before, after in pairwise(whole)]
    usual_s = float(np.quantile(pauses_s, 0.5, method="lower")) if pauses_s else 0.0
    least_s = max(gap_s, LONGER_THAN_USUAL * usual_s)
    begins_s = [
        after.start_s
        for after, pause_s in zip(whole[1:], pauses_s, strict=True)
        if pause_s >= least_s
    ]
    return [
        replace(rep, set=1 + int(np.searchsorted(begins_s, rep.start_s, "right"))) for rep in reps
    ]


def _pause_s(reps: Sequence[Rep], before: Rep, after: Rep) -> float:
    between = [rep for rep in reps if before.end_s <= rep.start_s and rep.end_s <= after.start_s]
    broken_off_s = sum(rep.end_s - rep.start_s for rep in between if rep.partial)
    return after.start_s - before.end_s - broken_off_s
