"""The dose: what was done of what was prescribed, and whether that is enough."""

from collections.abc import Mapping, Sequence

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
    by_side = {
        side: [judged.rep for judged in reps if judged.rep.side == side]
        for side in (["both"] if exercise.arms == "both" else sides)
    }
    return DoseCount(
        prescribed=PrescribedDose(dose.count, dose.per_direction, dose.sets, dose.hold_s),
        counted=_counted(exercise, [judged.rep for judged in reps], by_side),
        met=_met(exercise, reps, list(by_side.values())),
    )


def _counted(
    exercise: Exercise, reps: Sequence[Rep], by_side: Mapping[str, Sequence[Rep]]
) -> CountedDose:
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

    None where that depends on holds that may have been long enough, or on parts that may have been
    done without being recognised.
    """
    for doubtful in (False, True):
        numbers = [n for mine in by_side for n in _held_numbers(exercise, mine, doubtful=doubtful)]
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
