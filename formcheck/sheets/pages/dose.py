"""The dose in words: what is asked for, what the clip shows of it."""

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
        line += words("client.each_held", time=words.exact(dose.hold_s, "s"))
    if dose.sets > 1:
        line += words("client.in_sets", sets=dose.sets)
    return line


def counted_whole(result: ClipResult, exercise: Exercise) -> tuple[str, int]:
    """What the dose counts (repetitions, holds, circles, or rounds through the parts), and how many."""
    if not exercise.parts:
        return exercise.movement, sum(not judged.rep.partial for judged in result.reps)
    return ROUND, sum(count.whole for count in result.dose.counted.by_rounds)


def sets_line(dose: DoseCount, words: Words) -> str:
    """``2 sets of 5``, where the clip shows several; empty otherwise."""
    sets = dose.counted.by_set
    counts = [sum(sum(side.numbers) for side in one.values()) for one in sets]
    if not counts:
        return ""
    alike = len(set(counts)) == 1
    each = words.number(counts[0], 0) if alike else ", ".join(words.number(n, 0) for n in counts)
    return words(f"client.{'sets_of' if alike else 'sets_of_each'}", sets=len(counts), each=each)


def held_line(dose: DoseCount, words: Words) -> str:
    """How many holds were long enough, where some were not."""
    long_enough = dose.counted.long_enough
    if long_enough is None or long_enough == len(dose.counted.holds_s):
        return ""
    return words.count("client.long_enough", long_enough)
