"""Compound exercises: which part each repetition was."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from formcheck.catalogue.quantity import Quantity
from formcheck.exercises.schema import Part
from formcheck.movements.arm_signal import ArmSignal
from formcheck.movements.assignment import INFEASIBLE, segment_rounds
from formcheck.movements.circle_reps import circle_reps
from formcheck.movements.plateaus import find_plateaus
from formcheck.movements.repetitions import find_repetitions, rep_of
from formcheck.movements.signals import while_moving_about
from formcheck.movements.types import Rep
from formcheck.movements.visits import Visit, visits_of

PAUSE_S = 0.5
"""A rest so soon before or after circles is where they begin or end, and no hold. A proposal."""
LONE_ROUNDNESS = 0.5
"""A single circle less round may be the way from one place to the next, which reads up to 0.4 on
synthetic motion; true circles read 0.65-0.85 on rendered people. A proposal."""
BRIEF_S = 1.5
"""A rest that reads as this short may be a place passed through: a stop of 0.2 s reads as 1.1 s,
with the slow ends of the moves. A proposal."""
PASSING_COST = 3.0
"""What it costs to suppose a place only passed through: less than a part left out. A proposal."""
MAX_DISTANCE = 3.0
"""A part is not recognised when its place is missed by more than this many standard uncertainties.
A proposal."""
REST_DISTANCE = 1.0
"""An arm at its lowest level in the clip is taken to hang, unless it is this close to the place of a
part, in standard uncertainties. A proposal."""
UNSEEN_DISTANCE = 1.0
"""The distance in a measure that was not seen, which neither proves nor refutes a part.
A proposal."""


def find_parts(arm: ArmSignal) -> list[Rep]:
    """Repetitions of a compound exercise, each labelled with its part.

    The exercise's own primary measure finds them. The places of the parts tell them apart; where
    those leave it open, the order of the parts does. Those that fit no part keep ``part`` None and
    do not count.
    """
    runs = _circle_runs(arm)
    visits = [Visit(rep, (rep,)) for rep in _still(arm, runs)] + runs
    visits = _without_passing(sorted(visits, key=lambda visit: visit.span.start_s))
    known = [visit for visit in visits if _recognised(visit.span)]
    rounds = segment_rounds([visit.span.place_distances for visit in known]).rounds
    assigned = iter([part for parts in rounds for part in parts])
    found: list[Rep] = []
    for visit in visits:
        recognised = _recognised(visit.span)
        part = arm.exercise.parts[next(assigned)].name if recognised else None
        found += [
            replace(
                rep,
                part=part,
                partial=rep.partial or not recognised,
                place_distances=visit.span.place_distances,
            )
            for rep in visit.reps
        ]
    return [_with_own_effort(arm, rep) for rep in found]


def _with_own_effort(arm: ArmSignal, rep: Rep) -> Rep:
    """With range and times by the part's own measure, where the part begins from a rest of its own.

    A hand comes up to the low back however it is held there; that it was lifted off is known only
    where it was seen to rest there first. Elsewhere the range is unknown.
    """
    part = next((one for one in arm.exercise.parts if one.name == rep.part), None)
    if part is None or not part.primary.rest:
        return rep
    own = {"primary": part.primary, "movement": part.movement}
    its_arm = ArmSignal.of(arm.table, arm.exercise.model_copy(update=own), arm.sides)
    efforts = [
        one
        for one in find_repetitions(its_arm, alike=False)
        if not one.partial and one.top_start_s < rep.top_end_s and one.top_end_s > rep.top_start_s
    ]
    if not efforts:
        unknown = Quantity(float("nan"), float("nan"), its_arm.unit)
        return replace(rep, measures={**rep.measures, "range": unknown})
    longest = max(efforts, key=lambda one: one.top_end_s - one.top_start_s)
    return replace(
        rep,
        top_start_s=longest.top_start_s,
        top_end_s=longest.top_end_s,
        hold_s=longest.hold_s,
        measures={**rep.measures, **longest.measures, "duration": rep.measures["duration"]},
    )


def place_distance(arm: ArmSignal, rep: Rep, part: Part) -> float:
    """How far the arm was from a part's place at the top: root of the sum of squares over the
    measures of the place, in standard uncertainties.
    """
    top = arm.between(rep.top_start_s, rep.top_end_s)
    total = 0.0
    for place in part.recognise:
        series = arm.series(place.measure)
        known = top & np.isfinite(series.value)
        if not known.any():
            total += UNSEEN_DISTANCE**2
            continue
        value = float(np.median(series.value[known]))
        sd = float(np.median(series.sd[known]))
        below = 0.0 if place.low is None else max(place.low - value, 0.0)
        above = 0.0 if place.high is None else max(value - place.high, 0.0)
        total += (max(below, above) / sd) ** 2
    return float(np.sqrt(total))


def _with_distances(arm: ArmSignal, rep: Rep) -> Rep:
    """With its distance to each part; INFEASIBLE for another kind or way of movement."""
    distances = tuple(
        place_distance(arm, rep, part)
        if (rep.kind == "circle") == (part.movement == "circle")
        and part.turn in (None, rep.direction)
        else INFEASIBLE
        for part in arm.exercise.parts
    )
    return replace(rep, place_distances=distances)


def _recognised(rep: Rep) -> bool:
    return min(rep.place_distances) <= MAX_DISTANCE


def _circle_runs(arm: ArmSignal) -> list[Visit]:
    """Runs of whole circles; a single one only if it is round."""
    if not any(part.movement == "circle" for part in arm.exercise.parts):
        return []
    circles = [rep for rep in circle_reps(arm.table, arm.sides[0]) if not rep.partial]
    return [
        Visit(_with_distances(arm, run.span), run.reps)
        for run in visits_of(circles)
        if len(run.reps) > 1 or run.reps[0].measures["roundness"].value >= LONE_ROUNDNESS
    ]


def _still(arm: ArmSignal, runs: Sequence[Visit]) -> list[Rep]:
    """Holds and repetitions beside the runs of circles."""
    parts = [part for part in arm.exercise.parts if part.movement != "circle"]
    if not parts:
        return []
    holds_only = all(part.movement == "hold" for part in parts)
    found = _holds(arm) if holds_only else find_repetitions(arm, alike=False)
    beside = [rep for rep in found if not any(_touches(rep, run.span) for run in runs)]
    placed = [_with_distances(arm, rep) for rep in beside]
    placed = [
        rep for rep in placed if min(rep.place_distances) <= REST_DISTANCE or not _at_rest(arm, rep)
    ]
    return _without_settling(arm, placed)


def _touches(rep: Rep, run: Rep) -> bool:
    return run.start_s - PAUSE_S < rep.top_end_s and rep.top_start_s < run.end_s + PAUSE_S


def _holds(arm: ArmSignal) -> list[Rep]:
    """Every rest of the arm as a hold, hanging among them."""
    return [
        rep_of(arm, plateau, "hold")
        for times, effort in arm.known_stretches()
        for plateau in find_plateaus(times, effort, arm.min_range)
        if not while_moving_about(arm.table, plateau.start_s, plateau.end_s)
    ]


def _at_rest(arm: ArmSignal, rep: Rep) -> bool:
    """True if the top is no further from the resting level than noise."""
    top = arm.effort[arm.between(rep.top_start_s, rep.top_end_s)]
    return bool(np.nanmedian(top) < arm.rest + arm.min_range)


def _without_settling(arm: ArmSignal, reps: Sequence[Rep]) -> list[Rep]:
    """Of neighbours in one place, with no return to rest between them, only the longest.

    The others are settling into place and moving on from it, as when the hand lies on the back
    before it is lifted off.
    """
    kept: list[Rep] = []
    for rep in reps:
        last = kept[-1] if kept else None
        if last is None or _nearest(last) != _nearest(rep) or _returned(arm, last, rep):
            kept.append(rep)
            continue
        longer = max(last, rep, key=lambda one: one.top_end_s - one.top_start_s)
        kept[-1] = replace(longer, start_s=last.start_s, end_s=rep.end_s)
    return kept


def _nearest(rep: Rep) -> int:
    """The index of the part whose place is nearest."""
    return int(np.argmin(rep.place_distances))


def _returned(arm: ArmSignal, before: Rep, after: Rep) -> bool:
    """True if the arm went at least half of its way back to rest between two tops."""
    between = arm.effort[arm.between(before.top_end_s, after.top_start_s)]
    if not np.isfinite(between).any():
        return True
    top = arm.effort[arm.between(before.top_start_s, before.top_end_s)]
    return bool(np.nanmin(between) < (arm.rest + float(np.nanmedian(top))) / 2)


def _without_passing(visits: Sequence[Visit]) -> list[Visit]:
    """Without the brief rests that only split rounds: they are places passed through.

    A brief rest where a part is due stays, as a hold that was too short.
    """
    kept = [visit for visit in visits if _recognised(visit.span)]
    passed: list[Visit] = []
    for visit in list(kept):
        held_s = visit.span.top_end_s - visit.span.top_start_s
        if visit.span.kind != "hold" or held_s >= BRIEF_S:
            continue
        without = [other for other in kept if other is not visit]
        if _cost(without) + PASSING_COST < _cost(kept):
            kept = without
            passed.append(visit)
    return [visit for visit in visits if not any(visit is one for one in passed)]


def _cost(visits: Sequence[Visit]) -> float:
    return segment_rounds([visit.span.place_distances for visit in visits]).cost
