"""The pace of an exercise: what a client sees while doing it, step by step."""

from dataclasses import dataclass

from formcheck.exercises.schema import Check, Exercise, Part
from formcheck.words.words import Words

EASE_S = 2.0
"""Seconds to build a press up and to let it go, where the programme gives none. Common practice, no
source."""
EACH_WAY_S = 2.0
"""Seconds out and back, where neither tempo nor duration is given: slow is at least two seconds each
way. Common practice, no source."""
CIRCLE_S = 3.0
"""Seconds of one circle where no duration is asked for. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the pace: ``kind`` is ``on``, ``hold``, ``off`` or ``turn``; ``time`` in words."""

    kind: str
    label: str
    seconds: float
    time: str


@dataclass(frozen=True, slots=True)
class Pace:
    """What one repetition goes through, how often, and how many ways and sets there are."""

    steps: tuple[Step, ...]
    count: int
    ways: tuple[str, ...]
    sets: int
    rest_s: float | None
    line: str
    times: str


def pace_of(exercise: Exercise, part: Part | None, words: Words) -> Pace:
    """The pace of an exercise, or of one part of it."""
    group, dose = part or exercise, exercise.dose
    slow = _least_duration_s((*exercise.checks, *group.checks))
    ways: tuple[str, ...] = ()
    steps: tuple[Step, ...]
    count = part.count or 1 if part else dose.count
    match group.movement:
        case "circle":
            seconds = max(slow or CIRCLE_S, CIRCLE_S)
            steps = (_step("turn", seconds, words),)
            turns = (part.turn,) if part and part.turn else ("forward", "backward")
            both = part is not None or dose.per_direction
            ways = tuple(words(f"direction_of.{turn}") for turn in turns) if both else ()
        case "hold":
            held = _held_s(group, dose.hold_s)
            on, off = _eases_s(exercise)
            steps = (
                _step("on", on, words),
                _step("hold", held, words),
                _step("off", off, words),
            )
        case _:
            out, pause, back = dose.tempo_s or _tempo_s(slow)
            named = (("out", "on", out), ("stay", "hold", pause), ("back", "off", back))
            steps = tuple(_step(kind, s, words, label) for label, kind, s in named if s > 0)
    line = " · ".join(words("pacer.step", label=one.label, time=one.time) for one in steps)
    return Pace(
        steps, count, ways, dose.sets, dose.rest_s, line, _times(count, ways, dose.sets, words)
    )


def _times(count: int, ways: tuple[str, ...], sets: int, words: Words) -> str:
    """``4 times forward, then 4 times backward. 2 sets``."""
    each = [words("pacer.way", count=count, way=way) for way in ways]
    said = words("pacer.times", count=count) if not ways else words("pacer.then").join(each)
    return f"{said}. {words('packet.sets', sets=sets)}" if sets > 1 else said


def _step(kind: str, seconds: float, words: Words, label: str = "") -> Step:
    return Step(kind, words(f"pacer.{label or kind}"), seconds, words.exact(seconds, "s"))


def _held_s(group: Exercise | Part, dose_s: float | None) -> float:
    """How long it is held: by the part's own check, or else by the dose."""
    own = [c.low for c in group.checks if c.measure == "hold" and c.low is not None]
    return own[0] if own and isinstance(group, Part) else dose_s or (own[0] if own else 5.0)


def _eases_s(exercise: Exercise) -> tuple[float, float]:
    tempo = exercise.dose.tempo_s
    return (tempo[0], tempo[2]) if tempo else (EASE_S, EASE_S)


def _least_duration_s(checks: tuple[Check, ...]) -> float | None:
    lows = [check.low for check in checks if check.measure == "duration" and check.low]
    return max(lows, default=None)


def _tempo_s(slow_s: float | None) -> tuple[float, float, float]:
    each = max((slow_s or 0.0) / 2, EACH_WAY_S)
    return each, 0.0, each
