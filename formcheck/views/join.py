"""The package's entry point: two tracks of one set in, both cameras joined out, or why they are not."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray, IntArray
from formcheck.catalogue.codes import ProblemCode
from formcheck.landmarks.track import LandmarkTrack
from formcheck.views.adjust import adjust
from formcheck.views.clocks import Clock, local_offsets, moved_offsets
from formcheck.views.exchanges import exchanged_sides
from formcheck.views.joined import Joined
from formcheck.views.movement import Movement, movement_of
from formcheck.views.observation import Observation, bone_vectors, observe
from formcheck.views.offset import (
    LEAST_COMMON_S,
    Offset,
    arm_correlations,
    evidence_at,
    likely_offsets,
    sides_exchanged,
)
from formcheck.views.refusal import CLOCKS_DIFFER_S, Refusal, refusal_of
from formcheck.views.rig import Rig, usual_bones_m, usual_focal_px
from formcheck.views.starts import starts

RATE_HZ = 30.0
"""Rate at which two cameras are joined. Mechanical."""
KEY_TIMES = 60
"""Times that the cameras are adjusted to, as unlike each other as can be: evenly chosen ones left the
cameras' angle 18 degrees wrong in a set that is mostly held still, these 5. Read on rendered people."""
SCREEN_TIMES = 24
"""The same for choosing among starts and offsets. A proposal."""
SAME_COST = 1.25
"""Offsets whose cost is no more than so many times the least fit alike, and the one with most movement in
common is taken. A proposal."""
HALF_TIMES = 10
"""Such times in each half of a set that say whether a phone was moved. A proposal."""
KEY_JOINTS = 8
"""Joints that both cameras must know at such a time. A proposal."""
START_STEPS, LAST_STEPS, RESAMPLED = 6, 25, 3
"""Steps of the adjustment from each start and at the end, and how often the clocks are set anew.
Mechanical."""
VOTES = 2
"""How often exchanged sides are voted on after a first adjustment. Mechanical."""
_LARGEST_SHIFT_S, _SAME_SHIFT_S = 0.2, 0.004
"""The clock is set anew by no more than this at once, and left from less than this on. Mechanical."""


def join(
    track_a: LandmarkTrack,
    track_b: LandmarkTrack,
    *,
    offset_s: float | None = None,
    stated_s: float | None = None,
) -> Joined | Refusal:
    """Join two cameras by the landmarks of the one subject that both filmed.

    ``offset_s`` is by how much the second clip's time is ahead, where that is known from elsewhere,
    such as sound; left out, it is found from the movement. ``stated_s`` is the same to some seconds, by
    when the two files say that they were begun.
    """
    if (
        stated_s is not None
        and offset_s is None
        and apart_s(track_a, track_b, stated_s) > CLOCKS_DIFFER_S
    ):
        return Refusal(ProblemCode.VIEWS_RECORDED_APART)
    joined = fitted(track_a, track_b, offset_s=offset_s, stated_s=stated_s)
    if joined is None:
        return Refusal(ProblemCode.TOO_LITTLE_IN_COMMON)
    return refusal_of(joined, offset_s, stated_s) or joined


def fitted(
    track_a: LandmarkTrack,
    track_b: LandmarkTrack,
    *,
    offset_s: float | None = None,
    stated_s: float | None = None,
) -> Joined | None:
    """Two cameras as they fit best, believed or not; None with too little in common."""
    a, b = observe(track_a), observe(track_b)
    if min(int(one.known.any(axis=1).sum()) for one in (a, b)) < 2:
        return None
    moved = _moved(track_a, track_b)
    likely = likely_offsets(*moved, stated_s) if offset_s is None else [Offset(offset_s, 0.0)]
    screened = [_screened(a, b, Clock(one.offset_s)) for one in likely]
    known = [one for one in screened if one is not None]
    if not known:
        return None
    least = min(one.fit.cost for one in known)
    likeliest = next(one for one in known if one.fit.cost <= SAME_COST * least)
    found = _finished(a, b, _settled(a, b, likeliest))
    mirrored = sides_exchanged(*moved, found.clock.offset_s)
    if any(flags.any() for flags in found.exchanged):
        moved = _moved(*found.put_right(track_a, track_b))
    return replace(
        found,
        moved=moved_offsets(*moved, found.clock)[:, 1],
        evidence=evidence_at(*moved, found.clock.offset_s),
        arms=arm_correlations(*moved, found.clock.offset_s),
        mirrored=mirrored,
        shorter_s=float(min(np.ptp(one.time_s) for one in (a, b))),
    )


def _moved(*tracks: LandmarkTrack) -> tuple[Movement, Movement]:
    first, second = (movement_of(track, observe(track)) for track in tracks)
    return first, second


def apart_s(track_a: LandmarkTrack, track_b: LandmarkTrack, offset_s: float) -> float:
    """How long after the end of one clip the other begins; negative where they overlap."""
    begins = float(track_b.time_s[0]) - offset_s, float(track_a.time_s[0])
    ends = float(track_b.time_s[-1]) - offset_s, float(track_a.time_s[-1])
    return max(begins) - min(ends)


def _settled(a: Observation, b: Observation, found: Joined) -> Joined:
    """Adjusted to the end, the clocks set anew until that changes nothing."""
    for _ in range(RESAMPLED):
        pair = _common(a, b, found.clock)
        if pair is None:
            return found
        found = _again(*pair, found)
        shift_s = float(np.clip(found.rig.offset_s, -_LARGEST_SHIFT_S, _LARGEST_SHIFT_S))
        clock = replace(found.clock, offset_s=found.clock.offset_s + shift_s)
        found = replace(found, clock=clock)
        if abs(shift_s) < _SAME_SHIFT_S:
            break
    return found


def _common(a: Observation, b: Observation, clock: Clock) -> tuple[Observation, Observation] | None:
    """Both at the times that they have in common, the clocks of ``a``."""
    first = max(a.time_s[0], clock.inverse(float(b.time_s[0])))
    last = min(a.time_s[-1], clock.inverse(float(b.time_s[-1])))
    times = np.arange(first, last, 1 / RATE_HZ)
    if len(times) < LEAST_COMMON_S * RATE_HZ:
        return None
    return a.at(times), b.at(clock.of(times))


def _screened(a: Observation, b: Observation, clock: Clock) -> Joined | None:
    """The best of several starts, with the sides voted on; None with too little in common."""
    pair = _common(a, b, clock)
    if pair is None:
        return None
    a, b = pair
    focal, bones = usual_focal_px(a, b), usual_bones_m(a, b)
    sides = exchanged_sides(a, b)
    none = np.zeros(len(a.time_s), dtype=bool)
    best: Joined | None = None
    for choice in [sides, (none, none)] if any(one.any() for one in sides) else [sides]:
        first, second = a.exchanged(choice[0]), b.exchanged(choice[1])
        keys = key_times(first, second, SCREEN_TIMES)
        first_keys, second_keys = first.take(keys), second.take(keys)
        for rotation, translation in starts(first_keys, second_keys, focal):
            rig = Rig(rotation, translation, focal, bones)
            fit = adjust(first_keys, second_keys, rig, bones, steps=START_STEPS)
            if best is None or fit.cost < best.fit.cost:
                best = Joined(fit, first, second, keys, bones, clock, choice, np.zeros(0))
    return best and _voted(a, b, best)


def _voted(a: Observation, b: Observation, found: Joined) -> Joined:
    """The sides voted on by a first adjustment, and adjusted again where they changed."""
    for _ in range(VOTES):
        sides = exchanged_sides(a, b, found.rig)
        if all((x == y).all() for x, y in zip(sides, found.exchanged, strict=True)):
            break
        found = _adjusted(a, b, found, sides, times=SCREEN_TIMES, steps=START_STEPS)
    return found


def _again(a: Observation, b: Observation, found: Joined) -> Joined:
    """Adjusted further from what is known, with the clock free; the sides voted on anew."""
    sides = exchanged_sides(a, b, found.rig)
    return _adjusted(a, b, found, sides, times=KEY_TIMES, steps=LAST_STEPS, offset=True)


def _adjusted(
    a: Observation,
    b: Observation,
    found: Joined,
    sides: tuple[BoolArray, BoolArray],
    *,
    times: int,
    steps: int,
    offset: bool = False,
) -> Joined:
    first, second = a.exchanged(sides[0]), b.exchanged(sides[1])
    keys = key_times(first, second, times)
    rig = replace(found.rig, offset_s=0.0)
    fit = adjust(
        first.take(keys), second.take(keys), rig, found.bones_m, steps=steps, offset=offset
    )
    return replace(found, fit=fit, a=first, b=second, keys=keys, exchanged=sides)


def _finished(a: Observation, b: Observation, found: Joined) -> Joined:
    """The clocks' drift taken out, and what they are still apart at times."""
    offsets = local_offsets(found.a, found.b, found.rig)
    clock = found.clock.corrected(offsets)
    if clock.rate != found.clock.rate:
        found = _settled(a, b, replace(found, clock=clock))
        offsets = local_offsets(found.a, found.b, found.rig)
    found = replace(found, halves_cost=_halves_cost(found))
    return replace(found, windows=offsets[:, 1])


def _halves_cost(found: Joined) -> float:
    """The cost a time (cf. ``fit.cost``) if the cameras of each half of the set stand where they fit
    that half best: much less than that of one place for all means that a phone was moved.
    """
    late = found.keys > len(found.a.time_s) / 2
    total = 0.0
    for half in (late, ~late):
        if half.sum() < HALF_TIMES:
            return found.fit.cost
        keys = found.keys[half]
        fit = adjust(
            found.a.take(keys),
            found.b.take(keys),
            found.rig,
            found.bones_m,
            points_m=found.fit.points_m[half],
            steps=START_STEPS,
        )
        total += fit.cost * float(half.sum())
    return total / len(late)


def key_times(a: Observation, b: Observation, most: int) -> IntArray:
    """Indices of times at which the body is as differently placed as can be: each is the farthest
    from all before it (Gonzalez 1985), by the bones in both cameras' spaces.
    """
    both = np.flatnonzero((a.known & b.known).sum(axis=1) >= KEY_JOINTS)
    if len(both) == 0:
        return both
    spaces: Sequence[FloatArray] = [bone_vectors(one.world_m)[both] for one in (a, b)]
    postures = np.nan_to_num(np.concatenate(spaces, axis=1).reshape(len(both), -1))
    chosen = [0]
    away = np.linalg.norm(postures - postures[0], axis=1)
    while len(chosen) < min(most, len(both)) and away.max() > 0:
        chosen.append(int(away.argmax()))
        away = np.minimum(away, np.linalg.norm(postures - postures[chosen[-1]], axis=1))
    return np.sort(both[chosen])
