"""The dose: what was done of what was prescribed, and whether that is enough."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from formcheck.checks.result import (
    CountedDose,
    DirectionCount,
    DoseCount,
    JudgedRep,
    PrescribedDose,
    RepCount,
    RoundCount,
    SideCount,
)
from formcheck.checks.rounds import rounds_by_side
from formcheck.checks.statistics import ONE_SIDED_95
from formcheck.exercises.schema import Exercise
from formcheck.movements.rounds import rounds_of
from formcheck.movements.types import Rep

HOLD_SLACK_S = 0.5
"""A hold counts as long enough within the tolerance of the exercise's check of it; where it has none,
within half a second, which is how well it can be timed. Read on rendered people."""


def count_dose(exercise: Exercise, reps: Sequence[JudgedRep], sides: Sequence[str]) -> DoseCount:
    """Whole repetitions against the prescribed count of one set, for each side that worked."""
    dose = exercise.dose
    by_side = _by_side(exercise, [judged.rep for judged in reps], sides)
    sets = _sets(by_side)
    met = [_met(exercise, reps, list(one.values())) for one in sets]
    return DoseCount(
        prescribed=PrescribedDose(dose.count, dose.per_direction, dose.sets, dose.hold_s),
        counted=replace(
            _counted(exercise, [judged.rep for judged in reps], by_side),
            by_set=_counts_of(exercise, sets) if len(sets) > 1 else (),
            sets_done=met.count(True),
        ),
        met=False if False in met else None if None in met else True,
    )


_BySide = Mapping[str, Sequence[Rep]]


def _by_side(exercise: Exercise, reps: Sequence[Rep], sides: Sequence[str]) -> _BySide:
    """The repetitions of each side; of both arms together where they were never done by one."""
    if exercise.arms == "both" or (reps and all(rep.side == "both" for rep in reps)):
        return {"both": reps}
    return {side: [rep for rep in reps if rep.side in (side, "both")] for side in sides}


def _sets(by_side: _BySide) -> list[_BySide]:
    """The repetitions set by set."""
    last = max((rep.set for mine in by_side.values() for rep in mine if not rep.partial), default=1)
    return [
        {side: [rep for rep in mine if rep.set == number] for side, mine in by_side.items()}
        for number in range(1, last + 1)
    ]


def _counts_of(exercise: Exercise, sets: Sequence[_BySide]) -> tuple[Mapping[str, SideCount], ...]:
    return tuple({side: _side_count(exercise, mine) for side, mine in one.items()} for one in sets)


def _as_exercise(reps: Sequence[JudgedRep], *, doubtful: bool) -> tuple[Rep, ...]:
    """The repetitions that had what makes the exercise, or ``doubtful``: may have had it."""
    return tuple(
        judged.rep
        for judged in reps
        if not judged.lacks_essential and (doubtful or not judged.unsure_essentials)
    )


def _counted(exercise: Exercise, reps: Sequence[Rep], by_side: _BySide) -> CountedDose:
    whole = [rep for rep in reps if not rep.partial]
    holds_s = tuple(rep.hold_s for rep in whole if rep.hold_s is not None)
    long_enough = sum(_held(exercise, rep, doubtful=False) for rep in whole)
    return CountedDose(
        count=len(whole),
        by_side={side: _side_count(exercise, mine) for side, mine in by_side.items()},
        holds_s=holds_s,
        long_enough=long_enough if holds_s else None,
    )


def _side_count(exercise: Exercise, reps: Sequence[Rep]) -> SideCount:
    """What one side did."""
    if exercise.parts:
        rounds = rounds_of(exercise, reps)
        return RoundCount(
            rounds=len(rounds),
            whole=sum(one.whole for one in rounds),
            left_out=tuple(one.missing for one in rounds),
            too_few=tuple({few.part: few.done for few in one.short} for one in rounds),
        )
    whole = [rep for rep in reps if not rep.partial]
    if exercise.dose.per_direction:
        return DirectionCount(
            forward=sum(rep.direction == "forward" for rep in whole),
            backward=sum(rep.direction == "backward" for rep in whole),
        )
    return RepCount(len(whole))


def _met(
    exercise: Exercise, reps: Sequence[JudgedRep], by_side: Sequence[Sequence[Rep]]
) -> bool | None:
    """Whether each side reached the dose, counting what was held long enough.

    Repetitions without what makes the exercise do not count. None where it depends on what may have
    been done: the essential that was not surely seen, holds that may have been long enough, parts
    that may have been done without being recognised.
    """
    for doubtful in (False, True):
        made = _as_exercise(reps, doubtful=doubtful)
        numbers = [
            number
            for mine in by_side
            for number in _held_numbers(
                exercise, [rep for rep in mine if rep in made], doubtful=doubtful
            )
        ]
        if numbers and min(numbers) >= exercise.dose.count:
            return None if doubtful else True
    rounds = rounds_by_side(exercise, reps)
    sure = all(one.certain for of_side in rounds.values() for one in of_side)
    return False if sure else None


def _held_numbers(exercise: Exercise, reps: Sequence[Rep], *, doubtful: bool) -> tuple[int, ...]:
    """The numbers of a side's count, of what was held long enough; a round needs all of its holds."""
    if not exercise.parts:
        held = [rep for rep in reps if _held(exercise, rep, doubtful=doubtful)]
        return _side_count(exercise, held).numbers
    whole = [one for one in rounds_of(exercise, reps) if one.whole]
    return (sum(all(_held(exercise, rep, doubtful=doubtful) for rep in one.reps) for one in whole),)


def _held(exercise: Exercise, rep: Rep, *, doubtful: bool) -> bool:
    """Whether it was held long enough, or ``doubtful``: may have been."""
    if exercise.dose.hold_s is None or "hold" not in rep.measures:
        return True
    checks = exercise.checks_of(rep.part)
    slack_s = next(
        (one.tolerance for one in checks if one.measure == "hold" and one.low is not None),
        HOLD_SLACK_S,
    )
    hold = rep.measures["hold"]
    room_s = ONE_SIDED_95 * hold.sd if doubtful else 0.0
    return hold.value >= exercise.dose.hold_s - slack_s - room_s
