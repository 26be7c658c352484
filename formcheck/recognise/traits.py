"""What of an exercise can be told from outside: targets of the arm, kind, body position, arms."""

from collections.abc import Sequence
from dataclasses import dataclass

from formcheck.exercises.schema import Check, Exercise
from formcheck.exercises.vocabulary import TRACES

_OF_THE_ARM = (
    "elbow_flexion",
    "shoulder_elevation",
    "plane_of_elevation",
    "axial_rotation",
    "hand_height",
    "upper_arm_to_vertical",
)
_BOUNDS = {"elbow_flexion": (0.0, 150.0), "plane_of_elevation": (-60.0, 140.0),
           "axial_rotation": (-110.0, 130.0), "hand_height": (-30.0, 100.0)}  # fmt: skip
"""What an arm does in exercises; narrower than what can be at all."""
_CHANGES = (-60.0, 60.0)
"""The same for a change within a repetition."""
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


def traits_of(checks: Sequence[Check]) -> tuple[Trait, ...]:
    """The traits that a list of checks holds: where the working arm is, not how well it is done."""
    return tuple(
        _trait(check)
        for check in checks
        if check.measure in _OF_THE_ARM and check.side == "working"
    )


def _trait(check: Check) -> Trait:
    measure = TRACES[check.measure]
    bounds = _BOUNDS.get(check.measure, (measure.low, measure.high))
    if check.relative:
        bounds = _CHANGES
    low = bounds[0] if check.low is None else check.low
    high = bounds[1] if check.high is None else check.high
    return Trait(check, low, high, bounds, measure.unit)


def upright(exercise: Exercise) -> bool | None:
    """Whether the trunk is upright in it; None where it may be or not."""
    return _UPRIGHT.get(exercise.position, False)


def families(exercises: Sequence[Exercise]) -> list[Exercise]:
    """The exercises less the variants that a camera cannot tell from the one they are like."""
    by_name = {exercise.name: exercise for exercise in exercises}
    return [
        exercise
        for exercise in exercises
        if exercise.like not in by_name or not _alike(exercise, by_name[exercise.like])
    ]


def _alike(one: Exercise, other: Exercise) -> bool:
    """True if nothing that can be seen must differ between the two."""
    if (one.movement, one.arms, one.primary, bool(one.parts)) != (
        other.movement, other.arms, other.primary, bool(other.parts)
    ):  # fmt: skip
        return False
    if None not in (upright(one), upright(other)) and upright(one) != upright(other):
        return False
    mine, theirs = ({t.key: t for t in traits_of(e.checks)} for e in (one, other))
    return mine.keys() == theirs.keys() and all(
        trait.low <= theirs[key].high and theirs[key].low <= trait.high
        for key, trait in mine.items()
    )
