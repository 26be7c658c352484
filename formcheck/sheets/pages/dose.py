"""The dose in words: what is asked for, what the clip shows of it."""

import math
from collections.abc import Mapping

from formcheck.checks.result import (
    ClipResult,
    DirectionCount,
    DoseCount,
    RepCount,
    RoundCount,
    SideCount,
)
from formcheck.exercises.schema import Exercise
from formcheck.movements.types import Rep
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
        return exercise.movement, len(result.whole_reps)
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


def more_sets_line(dose: DoseCount, words: Words) -> str:
    """That more sets are asked for than the clip shows; empty where it shows them all."""
    shown, asked = max(len(dose.counted.by_set), 1), dose.prescribed.sets if dose.prescribed else 1
    return words.count("client.more_sets", shown, sets=asked) if asked > shown else ""


def is_over(dose: DoseCount) -> bool:
    """More was done in one set, by one side or one way, than was asked for."""
    asked = dose.prescribed.count if dose.prescribed else math.inf
    sets = dose.counted.by_set or (dose.counted.by_side,)
    return any(done > asked for one in sets for side in one.values() for done in side.numbers)


def over_line(dose: DoseCount, words: Words) -> str:
    """That more was done than was asked for, with the numbers; empty where it was not."""
    return words("dose.over", counted=counted_line(dose, words)) if is_over(dose) else ""


def held_line(dose: DoseCount, words: Words) -> str:
    """How many holds were long enough, where some were not."""
    counted, prescribed = dose.counted, dose.prescribed
    long_enough, total = counted.long_enough, len(counted.holds_s)
    if long_enough is None or long_enough == total or not prescribed or not prescribed.hold_s:
        return ""
    asked = words.exact(prescribed.hold_s, "s")
    if long_enough:
        return words("client.held_some", asked=asked, count=long_enough, total=total)
    longest = words.quantity(max(counted.holds_s), "s")
    return words("client.held_none", asked=asked, longest=longest)


def held_of(rep: Rep, exercise: Exercise | None, words: Words) -> str:
    """``Held about 3.1 s of 5 s``; empty for what was not held."""
    if rep.hold_s is None:
        return ""
    held, asked_s = words.quantity(rep.hold_s, "s"), _hold_asked_s(rep, exercise)
    if asked_s is None:
        return words("client.held", held=held)
    return words("client.held_of", held=held, asked=words.exact(asked_s, "s"))


def _hold_asked_s(rep: Rep, exercise: Exercise | None) -> float | None:
    if exercise is None or exercise.dose.hold_s is not None:
        return exercise.dose.hold_s if exercise else None
    lows = (one.low for one in exercise.checks_of(rep.part) if one.measure == "hold")
    return next((low for low in lows if low is not None), None)


def counted_line(dose: DoseCount, words: Words) -> str:
    """``8 of 10``; each set, side or direction by itself where there are several."""
    sets = dose.counted.by_set
    if not sets:
        return _counted_of(dose, dose.counted.by_side, words)
    return "; ".join(
        words("dose.set", number=number, counted=_counted_of(dose, one, words))
        for number, one in enumerate(sets, start=1)
    )


def _counted_of(dose: DoseCount, by_side: Mapping[str, SideCount], words: Words) -> str:
    asked: object = dose.prescribed.count if dose.prescribed else "?"

    def of(done: int, key: str = "of") -> str:
        over = "_over" if dose.prescribed and done > dose.prescribed.count else ""
        return words(f"dose.{key}{over}", done=done, asked=asked)

    parts = [] if by_side else [of(dose.counted.count)]
    for side, count in by_side.items():
        match count:
            case RepCount():
                told = [of(count.count)]
            case RoundCount():
                told = [of(count.whole, "rounds")]
            case DirectionCount():
                told = [
                    words("dose.way.forward", counted=of(count.forward)),
                    words("dose.way.backward", counted=of(count.backward)),
                ]
        several = len(by_side) > 1
        name = words(f"side.{side}") if words.knows("side", side) else side
        parts += [words("dose.side", side=name, counted=c) if several else c for c in told]
    return ", ".join(parts)
