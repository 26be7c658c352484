"""Where two phones stand best, and what they decide together that none does alone."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations

import numpy as np

from formcheck.catalogue.measures import MEASURES
from formcheck.catalogue.views import GENERAL_YAW_DEG, FilmingView
from formcheck.checks.judge import WEIGHTS
from formcheck.exercises.schema import Check, Exercise
from formcheck.filming.advice import decidable, table_seen, view_advice
from formcheck.filming.figure import ArmPose
from formcheck.measures.table import SIDES, MeasureTable, Series, column_name
from formcheck.measures.uncertainty import blend
from formcheck.views.fuse import SINGLE_FACTOR, TWO_FACTORS

TWO_SD: Mapping[str, float] = {
    "elbow_flexion": 9.0,
    "shoulder_elevation": 4.0,
    "plane_of_elevation": 10.0,
    "axial_rotation": 11.0,
    "upper_arm_forward": 8.5,
    "upper_arm_to_vertical": 4.5,
    "hand_height": 2.0,
    "trunk_lean_side": 3.5,
    "trunk_lean_forward": 4.5,
}
"""Median uncertainty of what two cameras tell by the adjustment, leans with the phones' level; on rendered
people about the same. Read on real people."""
BEST_APART_DEG = (45.0, 135.0)
"""Phones closer together or more opposite than this tell less: elbow 7-13 degrees wrong at 170, 5-8
between. Read on real people."""


@dataclass(frozen=True, slots=True)
class PairAdvice:
    """Two views that tell most together; ``gained`` are checks that neither decides alone."""

    views: tuple[FilmingView, FilmingView]
    decided: tuple[Check, ...]
    gained: tuple[Check, ...]


def pair_advice(exercise: Exercise) -> PairAdvice:
    """The two views that decide most together, with one of the recommended ones where that is no worse."""
    alone = {one.view: set(one.decided) for one in view_advice(exercise)}
    best: tuple[float, bool, float] | None = None
    advice = None
    for first, second in combinations(GENERAL_YAW_DEG, 2):
        apart = abs(GENERAL_YAW_DEG[first] - GENERAL_YAW_DEG[second])
        if not BEST_APART_DEG[0] <= apart <= BEST_APART_DEG[1]:
            continue
        decided, _ = decidable(exercise, partial(_both, exercise, (first, second)))
        share = float(sum(WEIGHTS[check.importance] for check in decided))
        advised = {first, second} & set(exercise.filming.best)
        rank = (share, bool(advised), -abs(apart - 90.0))
        if best is None or rank > best:
            gained = tuple(check for check in decided if check not in alone[first] | alone[second])
            best, advice = rank, PairAdvice((first, second), decided, gained)
    assert advice is not None
    return advice


def _both(
    exercise: Exercise, views: tuple[FilmingView, FilmingView], pose: ArmPose
) -> MeasureTable:
    """The figure's measures by two cameras: values of either, uncertainties as they are fused."""
    first, second = (table_seen(exercise, GENERAL_YAW_DEG[view], pose) for view in views)
    columns = {
        name: Series(*blend(own.value, own.sd, second.columns[name].value, second.columns[name].sd))
        for name, own in first.columns.items()
    }
    for measure, two_sd in TWO_SD.items():
        for side in SIDES if MEASURES[measure].sided else (None,):
            name = column_name(measure, side)
            own = columns[name]
            weight = 1 / (TWO_FACTORS[measure] * two_sd) ** 2
            sd = 1 / np.sqrt(weight + 1 / (SINGLE_FACTOR * own.sd) ** 2)
            columns[name] = Series(own.value, np.minimum(own.sd, sd))
    return replace(first, columns=columns)
