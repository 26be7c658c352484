"""Two clips that were not filmed of one set by two still cameras: refused rather than believed."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from formcheck.catalogue.codes import ProblemCode

if TYPE_CHECKING:
    from formcheck.views.join import Joined

LEAST_TRACKED = 0.6
"""Share of the common time at which both cameras must see the subject. A proposal."""
LEAST_ANGLE_DEG = 15.0
"""Cameras turned from each other by less than this see the same. A proposal."""
MOST_RESIDUAL, FAR, MOST_FAR, MOST_COST = 0.08, 0.12, 0.07, 100.0
"""The residual in trunk lengths that 90 % must stay under, one that is far off, the share that may be,
and the cost a time (good pairs: up to 0.079, 0.065 and 88). Read on rendered people."""
MOST_APART_S = 0.06
"""How far the clocks may be apart in any stretch of the set, from the median of all: two sets of one
exercise differ by 0.12-0.18 s (good pairs: up to 0.028). Read on rendered people."""
LEAST_SHARP = 2
"""Stretches that must tell the clocks apart, unless sound does. A proposal."""
LEAST_CORRELATION = 0.5
"""How well the limbs of both clips must move alike. A proposal."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why two clips are not joined."""

    code: ProblemCode


def refusal_of(joined: "Joined", *, told_by_sound: bool) -> Refusal | None:
    """Why two clips that were fitted together are not to be believed; None if they are."""
    code = _code(joined, told_by_sound=told_by_sound)
    return Refusal(code) if code else None


def _code(joined: "Joined", *, told_by_sound: bool) -> ProblemCode | None:
    both = joined.a.known.any(axis=1) & joined.b.known.any(axis=1)
    if both.mean() < LEAST_TRACKED:
        return ProblemCode.TOO_LITTLE_IN_COMMON
    if joined.rig.angle_deg < LEAST_ANGLE_DEG:
        return ProblemCode.SAME_VIEW_TWICE
    residual = joined.fit.residual[np.isfinite(joined.fit.residual)]
    if (
        np.percentile(residual, 90) > MOST_RESIDUAL
        or np.mean(residual > FAR) > MOST_FAR
        or joined.fit.cost > MOST_COST
        or joined.correlation < LEAST_CORRELATION
    ):
        return ProblemCode.VIEWS_DO_NOT_FIT
    windows = joined.windows
    if len(windows) and np.abs(windows - np.median(windows)).max() > MOST_APART_S:
        return ProblemCode.VIEWS_OF_OTHER_SETS
    if len(windows) < LEAST_SHARP and not told_by_sound:
        return ProblemCode.VIEWS_NOT_TIMED
    return None
