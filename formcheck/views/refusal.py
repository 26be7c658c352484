"""Two clips that were not filmed of one set by two still cameras: refused rather than believed."""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.codes import ProblemCode
from formcheck.views.clocks import stretch_count
from formcheck.views.joined import Joined

LEAST_TRACKED = 0.6
"""Share of the common time at which both cameras must see the subject. A proposal."""
LEAST_ANGLE_DEG = 15.0
"""Cameras turned from each other by less than this see the same. A proposal."""
MOST_EXCHANGED = 0.5
"""Whose left and right have to be exchanged for more of the time than this is a mirror image, which from
square to the side fits as a view from the other side would (a pose model that confuses them does so
for a third). Read on real people."""
MOST_RESIDUAL, FAR, MOST_FAR, MOST_COST = 0.08, 0.12, 0.07, 100.0
"""The residual in trunk lengths that 90 % must stay under, one that is far off, the share that may be,
and the cost a time (good pairs: up to 0.079, 0.065 and 88). Read on rendered people."""
MOST_GAIN, SMALL_COST = 1.1, 0.5
"""How many times the cost may be that of cameras which stand elsewhere in each half of the set, and a cost
that does not matter (good pairs: up to 1.01 times). Read on rendered people."""
MOST_APART_S, MOST_SPREAD_S = 0.06, 0.028
"""How far the clocks may be apart in any stretch of the set, from the median of all, and as a root mean
square: two sets of one exercise are 0.034 s and more apart (good pairs: up to 0.045 and 0.022).
Read on rendered people."""
MOST_LATE_S = 0.06
"""How late the second camera may be by the clock in most stretches (good pairs: up to 0.044).
Read on real people."""
LEAST_SHARP, SHARP_SHARE = 2, 0.5
"""Stretches that must tell the clocks apart, and their share of all. A proposal."""
MOST_TURNS_APART_S, MOST_TURNS_LATE_S, LEAST_TURNS = 0.05, 0.04, 4
"""The same where only the turning of bones tells it (good pairs: up to 0.036 and 0.018, another set of the
same exercise 0.062). Read on rendered people."""
MOST_FROM_TOLD_S = 0.1
"""How far the movement may lead away from an offset that was heard. A proposal."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why two clips are not joined."""

    code: ProblemCode


def refusal_of(joined: Joined, heard_s: float | None) -> Refusal | None:
    """Why two clips that were fitted together are not to be believed; None if they are.

    ``heard_s`` is the offset of the clocks that sound has told, if it has.
    """
    code = _code(joined) or _timing(joined, heard_s)
    return Refusal(code) if code else None


def _code(joined: Joined) -> ProblemCode | None:
    both = joined.a.known.any(axis=1) & joined.b.known.any(axis=1)
    if both.mean() < LEAST_TRACKED:
        return ProblemCode.TOO_LITTLE_IN_COMMON
    if joined.rig.angle_deg < LEAST_ANGLE_DEG:
        return ProblemCode.SAME_VIEW_TWICE
    residual = joined.fit.residual[np.isfinite(joined.fit.residual)]
    misfits = (
        max(float(np.mean(flags)) for flags in joined.exchanged) > MOST_EXCHANGED
        or np.percentile(residual, 90) > MOST_RESIDUAL
        or np.mean(residual > FAR) > MOST_FAR
        or joined.fit.cost > MOST_COST
        or joined.fit.cost > MOST_GAIN * joined.halves_cost + SMALL_COST
    )
    return ProblemCode.VIEWS_DO_NOT_FIT if misfits else None


def _timing(joined: Joined, heard_s: float | None) -> ProblemCode | None:
    """Whether the clocks keep together: by where the joints lie, or else by when the bones turn."""
    sharp = max(LEAST_SHARP, SHARP_SHARE * stretch_count(joined.a.time_s))
    for offsets_s, most_s, late_s, least in (
        (joined.windows, MOST_APART_S, MOST_LATE_S, sharp),
        (joined.turns, MOST_TURNS_APART_S, MOST_TURNS_LATE_S, LEAST_TURNS),
    ):
        if len(offsets_s) >= least:
            middle = float(np.median(offsets_s))
            off = np.abs(offsets_s - middle)
            apart = off.max() > most_s or np.sqrt(np.mean(off**2)) > MOST_SPREAD_S
            return ProblemCode.VIEWS_OF_OTHER_SETS if apart or abs(middle) > late_s else None
    heard = heard_s is not None and abs(joined.clock.offset_s - heard_s) <= MOST_FROM_TOLD_S
    return None if heard else ProblemCode.VIEWS_NOT_TIMED
