"""The dose in words: what is asked for, what the clip shows of it."""

from collections.abc import Mapping

from formcheck.checks.result import ClipResult, DoseCount
from formcheck.exercises.schema import Exercise
from formcheck.words.words import Words

ROUND = "round"


def asked_for(exercise: Exercise, words: Words) -> str:
    """The prescribed dose in one line."""
    dose = exercise.dose
    kind = words.kind(ROUND if exercise.parts else exercise.movement, dose.count)
    line = words.count("client.asked", dose.count, kind=kind)
    if dose.per_direction:
        line += words("client.per_direction")
    if dose.hold_s is not None:
        places = 0 if dose.hold_s.is_integer() else 1
        held = words.number(dose.hold_s, places) + words.unit("s")
        line += words("client.each_held", time=held)
    if dose.sets > 1:
        line += words("client.in_sets", sets=dose.sets)
    return line


def counted_whole(result: ClipResult, exercise: Exercise) -> tuple[str, int]:
    """What the dose counts (repetitions, holds, circles, or rounds through the parts), and how many."""
    if not exercise.parts:
        return exercise.movement, sum(not judged.rep.partial for judged in result.reps)
    sides = [side for side in result.dose.counted.values() if isinstance(side, Mapping)]
    return ROUND, sum(int(side["whole_cycles"]) for side in sides)


def held_line(dose: DoseCount, words: Words) -> str:
    """How many holds were long enough, where some were not."""
    holds, long_enough = dose.counted.get("holds_s"), dose.counted.get("long_enough")
    if not isinstance(holds, list) or not isinstance(long_enough, int) or long_enough == len(holds):
        return ""
    return words.count("client.long_enough", long_enough)
