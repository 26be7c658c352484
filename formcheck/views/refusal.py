"""Two clips that were not filmed of one set by two still cameras: refused rather than believed."""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.catalogue.codes import ProblemCode
from formcheck.views.clocks import stretch_count
from formcheck.views.joined import Joined
from formcheck.views.offset import CLOCKS_AGREE_S, LEAST_EVIDENCE_STATED

LEAST_TRACKED = 0.6
"""Share of the common time at which both cameras must see the subject. A proposal."""
LEAST_ANGLE_DEG = 15.0
"""Cameras turned from each other by less than this see the same. A proposal."""
MOST_EXCHANGED = 0.5
"""Whose left and right have to be exchanged for more of the time than this is a mirror image, which from
square to the side fits as a view from the other side would (a pose model that confuses them does so
for a third). Read on real people."""
MOST_RESIDUAL, MOST_COST = 0.13, 100.0
"""The residual in trunk lengths that 90 % must stay under, and the cost a time (a pair of real clips that is
right: 78). Read on rendered people."""
MOST_RESIDUAL_IF_SURE, MOST_COST_IF_SURE = 0.20, 110.0
"""The same limits where the movement or a sound tells one set without doubt: of people who
lie or prop themselves up the pose model places joints less well. Read on rendered people."""
MOST_GAIN, SMALL_COST = 1.1, 0.5
"""How many times the cost may be that of cameras which stand elsewhere in each half of the set, and a cost
that does not matter (good pairs: up to 1.01 times). Read on rendered people."""
LEAST_EVIDENCE = 6.0
"""Evidence (``offset.Offset``) that the movement must give by itself. Read on rendered people."""
ARMS_DIFFER = 0.5
"""Arms that correlate less than this move otherwise (right pairs mostly 0.65 and more, other exercises
at the same pace 0.0 to 0.5). Read on rendered people."""
LEAST_ALONE_S, LEAST_SHARE = 5.0, 0.7
"""... and how long both must show the set for that, in seconds and as a share of the shorter clip: in a
short piece somebody else's repetition fits, too. Read on rendered people."""
MOST_SPREAD_S, MOST_MOVED_SPREAD_S, MOST_LATE_S, LEAST_SHARP = 0.06, 0.05, 0.09, 2
"""How far the clocks may be apart in the stretches of the set that tell it, as a root mean square about
their median, by where the joints lie and by how the body moves; how late the second camera may be by the
median of either; and how many stretches must tell it. Both spreads count together, as shares.
Read on rendered people."""
SHARP_SHARE, SHARP_SPREAD_S = 0.5, 0.028
"""The share of all stretches that must tell the clocks, and how far they may be apart, for the clocks to be
told by where the joints lie alone: of real people the pose model tells too little of how arms move.
Read on rendered people."""
CLOCKS_DIFFER_S = 30.0
"""Recordings that lie further apart by both files' own times were not made at once. A proposal."""
MOST_FROM_TOLD_S = 0.1
"""How far the movement may lead away from an offset that was heard. A proposal."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why two clips are not joined; ``one_set`` is True where they show one set at one time all the same."""

    code: ProblemCode
    one_set: bool = False


def refusal_of(
    joined: Joined, heard_s: float | None, stated_s: float | None = None
) -> Refusal | None:
    """Why two clips that were fitted together are not to be believed; None if they are.

    ``heard_s`` is the offset of the clocks that sound has told, if it has, ``stated_s`` the one by when
    both files say that they were begun.
    """
    both = joined.a.known.any(axis=1) & joined.b.known.any(axis=1)
    if both.mean() < LEAST_TRACKED:
        return Refusal(ProblemCode.TOO_LITTLE_IN_COMMON)
    if joined.rig.angle_deg < LEAST_ANGLE_DEG:
        return Refusal(ProblemCode.SAME_VIEW_TWICE)
    code = _timing(joined, heard_s, stated_s)
    exchanged = max(float(np.mean(flags)) for flags in joined.exchanged)
    mirrored = joined.mirrored or exchanged > MOST_EXCHANGED
    sure = joined.evidence >= LEAST_EVIDENCE or heard_s is not None
    if mirrored or _misfits(joined, sure=sure and not code):
        return Refusal(ProblemCode.VIEWS_DO_NOT_FIT, one_set=not (mirrored or code))
    return Refusal(code) if code else None


def clocks_agree(offset_s: float, stated_s: float | None) -> bool:
    """Whether both files say that they were begun so far apart."""
    return stated_s is not None and abs(offset_s - stated_s) <= CLOCKS_AGREE_S


def _misfits(joined: Joined, *, sure: bool) -> bool:
    residual = joined.fit.residual[np.isfinite(joined.fit.residual)]
    return bool(
        np.percentile(residual, 90) > (MOST_RESIDUAL_IF_SURE if sure else MOST_RESIDUAL)
        or joined.fit.cost > (MOST_COST_IF_SURE if sure else MOST_COST)
        or joined.fit.cost > MOST_GAIN * joined.halves_cost + SMALL_COST
    )


def _timing(joined: Joined, heard_s: float | None, stated_s: float | None) -> ProblemCode | None:
    """What speaks against one set at one time: clocks that run apart, or too little that moves."""
    spread = np.hypot(
        _spread_s(joined.windows) / MOST_SPREAD_S, _spread_s(joined.moved) / MOST_MOVED_SPREAD_S
    )
    if _late(joined.windows) or spread > 1.0:
        return ProblemCode.VIEWS_OF_OTHER_SETS
    if heard_s is not None:
        near = abs(joined.clock.offset_s - heard_s) <= MOST_FROM_TOLD_S
        return None if near else ProblemCode.VIEWS_NOT_TIMED
    told = _told_by_movement(joined)
    if clocks_agree(joined.clock.offset_s, stated_s):
        told = told or joined.evidence >= LEAST_EVIDENCE_STATED or len(joined.windows) > 0
    elif np.any(joined.arms < ARMS_DIFFER) or _late(joined.moved):
        return ProblemCode.VIEWS_OF_OTHER_SETS
    return None if told else ProblemCode.VIEWS_NOT_TIMED


def _told_by_movement(joined: Joined) -> bool:
    """Whether the movement alone tells one set: by how the body moves, or by joints that fit at one clock
    only, all through the set. Without an arm that both see move, it does not.
    """
    if not len(joined.arms):
        return False
    least_s = max(LEAST_ALONE_S, LEAST_SHARE * joined.shorter_s)
    if joined.evidence >= LEAST_EVIDENCE and np.ptp(joined.a.time_s) >= least_s:
        return True
    sharp = max(LEAST_SHARP, SHARP_SHARE * stretch_count(joined.a.time_s))
    return len(joined.windows) >= sharp and _spread_s(joined.windows) <= SHARP_SPREAD_S


def _late(offsets_s: FloatArray) -> bool:
    """Whether the stretches that tell it agree that the clocks are otherwise."""
    return len(offsets_s) >= LEAST_SHARP and bool(abs(np.median(offsets_s)) > MOST_LATE_S)


def _spread_s(offsets_s: FloatArray) -> float:
    """Root mean square about the median; 0 of too few to tell."""
    if len(offsets_s) < LEAST_SHARP:
        return 0.0
    return float(np.sqrt(np.mean((offsets_s - np.median(offsets_s)) ** 2)))
