"""The checks that a demonstration may teach, with their words; limits come from the clip."""

from collections.abc import Sequence

from formcheck.exercises.schema import Check, Exercise

_OPEN = {"source": "not learned yet"}
_ARM = {
    "elbow_flexion": (
        "elbow",
        "Bend your elbow as your coach showed you.",
        "Your elbow kept the bend that was shown.",
    ),
    "shoulder_elevation": (
        "arm-height",
        "Bring your arm to the height that your coach showed you.",
        "Your arm came to the height that was shown.",
    ),
    "plane_of_elevation": (
        "arm-direction",
        "Point your arm in the direction that your coach showed you.",
        "Your arm pointed where it was shown.",
    ),
    "axial_rotation": (
        "forearm",
        "Turn your forearm as your coach showed you.",
        "Your forearm was turned as it was shown.",
    ),
    "hand_height": (
        "hand-height",
        "Bring your hand to the height that your coach showed you.",
        "Your hand came to the height that was shown.",
    ),
}
_TRUNK = {
    "trunk_lean_side": ("lean", "Stay tall. Your body should not lean to the side."),
    "trunk_lean_forward": ("lean-forward", "Stay tall. Do not lean forward or back."),
    "trunk_turn": ("turn", "Keep your chest facing forward. Only the arm moves."),
}


def candidates(draft: Exercise) -> tuple[Check, ...]:
    """Every check worth trying for a movement of this kind; the ends of its target say which count."""
    kind = draft.movement
    checks = list(_primary(draft)) if kind == "rep" else []
    # The height of a hand is the coach's own arm in centimetres: only where nothing else moves.
    told = [m for m in _ARM if m != "hand_height" or m == draft.primary.measure]
    checks += [
        c for m in told if m != draft.primary.measure or kind != "rep" for c in _still(m, kind)
    ]
    checks += [_trunk(measure) for measure in _TRUNK]
    checks += [_hike()] if draft.position == "standing" else [_hike(), *_hips()]
    checks += list(_times(kind))
    return tuple({check.id: check for check in checks}.values())


def _primary(draft: Exercise) -> Sequence[Check]:
    """How far the movement goes, and that it comes all the way back."""
    measure, rise = draft.primary.measure, draft.primary.direction == "rise"
    far, near = ("max", "min") if rise else ("min", "max")
    one, other = ("low", "high") if rise else ("high", "low")
    return (
        _check("reach", measure, far, "range", {one: 0.0},
               "Go as far as your coach showed you, as far as it goes with ease.",
               "You went as far as was shown every time.", essential=True),
        _check("return", measure, near, "range", {other: 0.0},
               "Come all the way back before the next one.",
               "You came all the way back every time."),
    )  # fmt: skip


def _still(measure: str, kind: str) -> Sequence[Check]:
    """Where the arm is at the top; all the way round in circles; and that it keeps still if it did."""
    name, cue, praise = _ARM[measure]
    phase = "whole" if kind == "circle" else "top"
    return (
        _check(
            name, measure, "mean", "position", {"low": 0.0, "high": 0.0}, cue, praise, phase=phase
        ),
    )


def _trunk(measure: str) -> Check:
    name, cue = _TRUNK[measure]
    return _check(
        name, measure, "worst", "position", {"low": 0.0, "high": 0.0}, cue,
        "Your body kept as still as was shown.", relative=True,
    )  # fmt: skip


def _hike() -> Check:
    return _check(
        "hike", "hike", "max", "position", {"high": 0.0},
        "Keep your shoulder down and away from your ear.",
        "Your shoulder stayed as low as was shown.", relative=True,
    )  # fmt: skip


def _hips() -> Sequence[Check]:
    """The line of a body that is not upright."""
    praise = "Your body kept its line from shoulders to feet."
    return (
        _check("sag", "hip_off_line", "max", "position", {"high": 0.0},
               "Do not let your hips sag. Keep one line from shoulders to feet.", praise),
        _check("pike", "hip_off_line", "min", "position", {"low": 0.0},
               "Do not push your hips up. Keep one line from shoulders to feet.", praise),
    )  # fmt: skip


def _times(kind: str) -> Sequence[Check]:
    slow = _check("tempo", "duration", "value", "tempo", {"low": 0.0},
                  "Slow down to the pace that your coach showed you.",
                  "Your pace was as slow as was shown.")  # fmt: skip
    if kind == "hold":
        return (
            _check("hold", "hold", "value", "range", {"low": 0.0},
                   "Hold it a little longer. Count slowly to the end.",
                   "You held it long enough every time.", essential=True),
            _check("steady", "steadiness", "value", "tempo", {"high": 0.0},
                   "Keep your arm still while you hold.", "Your arm stayed still."),
        )  # fmt: skip
    if kind == "circle":
        return (
            _check("size", "range", "value", "range", {"low": 0.0},
                   "Make your circles as large as your coach showed you.",
                   "Your circles were as large as was shown.", essential=True),
            _check("round", "roundness", "value", "range", {"low": 0.0},
                   "Draw a full, round circle and do not cut the corners.",
                   "Your circles were full and round."),
            slow,
        )  # fmt: skip
    return (slow,)


def _check(  # noqa: PLR0917 - read as the rows of a table
    name: str,
    measure: str,
    statistic: str,
    importance: str,
    ends: dict[str, float],
    cue: str,
    praise: str,
    *,
    phase: str = "whole",
    relative: bool = False,
    essential: bool = False,
) -> Check:
    return Check.model_validate(
        {
            "id": name,
            "measure": measure,
            "statistic": statistic,
            "phase": phase,
            "relative": relative,
            "tolerance": 0.0,
            "importance": importance,
            "essential": essential,
            "cue": cue,
            "praise": praise,
            **_OPEN,
            **ends,
        }
    )
