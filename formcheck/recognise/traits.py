"""What of an exercise a camera can see: targets of the arm, movement, position of the body, arms."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from formcheck.catalogue.codes import Importance
from formcheck.catalogue.measures import MEASURES, Scope
from formcheck.exercises.schema import CHANGES, Check, Exercise, Sign

_CHANGE_BOUNDS = (-60.0, 60.0)
"""What an arm does in exercises as a change within a repetition. A proposal."""
_UPRIGHT = {"standing": True, "sitting": True, "kneeling": True, "any": None}


@dataclass(frozen=True, slots=True)
class Trait:
    """A check's reading and where the exercise has it; ends left open are the measure's bounds."""

    check: Check
    low: float
    high: float
    bounds: tuple[float, float]
    unit: str

    @property
    def key(self) -> tuple[str, str, str, bool]:
        """What is read, whatever the target."""
        check = self.check
        return check.measure, check.statistic, check.phase, check.relative


def traits_of(exercise: Exercise, part: str | None) -> tuple[Trait, ...]:
    """Where the working arm is in a part (or all) of an exercise, not how well it is done."""
    checks = [
        check
        for check in exercise.checks_of(part)
        if MEASURES[check.measure].scope is Scope.ARM
        and check.side == "working"
        and check.statistic not in CHANGES
    ]
    return tuple(_trait(check) for check in (*checks, *map(_as_check, exercise.recognise)))


def _as_check(sign: Sign) -> Check:
    """A sign as something that can be read; nobody is told of it."""
    return Check(
        id="sign", measure=sign.measure, statistic="mean", phase=sign.phase, low=sign.low,
        high=sign.high, tolerance=0, importance=Importance.RANGE, cue="-", praise="-", source="-",
    )  # fmt: skip


def _trait(check: Check) -> Trait:
    measure = MEASURES[check.measure]
    bounds = measure.usual or measure.bounds
    if check.relative:
        bounds = _CHANGE_BOUNDS
    low = bounds[0] if check.low is None else check.low
    high = bounds[1] if check.high is None else check.high
    return Trait(check, low, high, bounds, measure.unit)


def upright(exercise: Exercise) -> bool | None:
    """Whether the trunk is upright in it; None where it may be or not."""
    return _UPRIGHT.get(exercise.position, False)


def distinguishable(exercises: Sequence[Exercise]) -> list[Exercise]:
    """The exercises that a camera can tell from others; of variants that it cannot tell from the one
    they are like, only that one.
    """
    by_name = {exercise.name: exercise for exercise in exercises}
    return [one for one in exercises if one.recognised and not _same_to_a_camera(one, by_name)]


def indistinguishable(best: Exercise, exercises: Sequence[Exercise]) -> list[Exercise]:
    """``best``, and the variants of it that a camera cannot tell from it."""
    by_name = {best.name: best}
    for _ in exercises:  # a variant may be like another variant
        by_name |= {one.name: one for one in exercises if _same_to_a_camera(one, by_name)}
    return list(by_name.values())


def _same_to_a_camera(variant: Exercise, by_name: Mapping[str, Exercise]) -> bool:
    """Whether one of the exercises is what ``variant`` is like, and looks the same."""
    base = by_name.get(variant.like or "")
    return base is not None and _alike(variant, base)


def _alike(one: Exercise, other: Exercise) -> bool:
    """True if nothing that can be seen must differ between the two."""
    if (one.movement, one.arms, one.primary, bool(one.parts)) != (
        other.movement, other.arms, other.primary, bool(other.parts)
    ):  # fmt: skip
        return False
    if None not in (upright(one), upright(other)) and upright(one) != upright(other):
        return False
    mine, theirs = ({t.key: t for t in traits_of(e, None)} for e in (one, other))
    return mine.keys() == theirs.keys() and all(
        trait.low <= theirs[key].high and theirs[key].low <= trait.high
        for key, trait in mine.items()
    )
