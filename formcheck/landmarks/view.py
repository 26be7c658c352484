"""What the landmarks say about how the clip was filmed: who is in view, and which parts of them."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.problems import Problem
from formcheck.landmarks.track import Joint, SingleArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

MIN_CLIP_S = 2.0
MARGIN = 0.02
"""Share of the picture by which a landmark may lie outside it: half a hand is no loss."""
MIN_STRETCH_S = 0.5
MIN_ABSENCE_S = 1.0
MOST_OF_CLIP = 0.8
SMALL_PX, TOO_SMALL_PX = 75.0, 40.0
"""Size of the person in a 640-pixel picture. By trial: errors of the elbow as usual at 190, half as
large again at 76, twice as large at 54, and no longer the person at 27."""


@dataclass(frozen=True, slots=True, eq=False)
class Sight:
    """The subject at each analysed time, as far as seen.

    time_s   (n,)
    tracked  (n,)     whether the subject was found
    outside  (n, 33)  landmarks outside the picture, where the model can only imagine them
    company  (n,)     whether somebody else was followed
    span_px           usual size of the subject in the analysed picture
    """

    time_s: FloatArray
    tracked: BoolArray
    outside: BoolArray
    company: BoolArray
    span_px: float


def outside_picture(image: SingleArray) -> BoolArray:
    """(n, 33) whether landmarks (n, 33, 3), as shares of the picture, lie outside it."""
    with np.errstate(invalid="ignore"):
        beyond = (image[..., :2] < -MARGIN) | (image[..., :2] > 1 + MARGIN)
    return np.asarray(beyond.any(axis=-1))


def view_problems(sight: Sight) -> tuple[Problem, ...]:
    """Everything about who and what is in view."""
    duration_s = float(np.ptp(sight.time_s)) if len(sight.time_s) else 0.0
    if duration_s < MIN_CLIP_S:
        shown_s = int(10 * duration_s) / 10  # 1.97 s are no 2.0 s
        message = (
            f"The clip is {shown_s:.1f} s long; at least {MIN_CLIP_S:.0f} s are needed "
            "to see a movement. Film the whole set."
        )
        return (Problem("too-short", message, fatal=True),)
    seen_s = duration_s * float(sight.tracked.mean())
    if seen_s < MIN_CLIP_S:
        message = (
            "Nobody was found in the picture. Put the camera so that you are in it from your head "
            "to your hips or lower; legs or a head alone are not enough."
        )
        return (Problem("nobody-in-view", message, fatal=True),)
    return _absences(sight) + _parts(sight) + _size(sight)


def _absences(sight: Sight) -> tuple[Problem, ...]:
    found = []
    for a, b in stretches(sight.time_s, ~sight.tracked, MIN_ABSENCE_S):
        during = (sight.time_s > a - 0.5) & (sight.time_s < b + 0.5)
        if sight.company[during].any():
            message = f"You could not be followed {_when(a, b)}, with somebody else in the way."
            found.append(Problem("hidden", message, a, b))
        else:
            message = f"Nobody was found in the picture {_when(a, b)}."
            found.append(Problem("nobody-in-view", message, a, b))
    return tuple(found)


def _parts(sight: Sight) -> tuple[Problem, ...]:
    """Which parts of the body leave the picture, and what to change."""
    out = sight.outside & sight.tracked[:, None]
    shoulders = np.asarray(out[:, [Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER]].all(axis=1))
    hips = np.asarray(out[:, [Joint.LEFT_HIP, Joint.RIGHT_HIP]].all(axis=1))
    lost = (
        ("only-legs", shoulders & ~hips, "Only your legs are in the picture", "Tilt the camera up"),
        ("shoulders-out-of-view", shoulders & hips, "Your shoulders are not in the picture",
         "Move the camera back"),
        ("hips-out-of-view", hips & ~shoulders, "Your hips are not in the picture",
         "Move the camera back or tilt it down"),
        ("arms-out-of-view", *_arms(sight, out & ~shoulders[:, None]),
         "Leave more room beside and above you"),
    )  # fmt: skip
    found = [_part(sight, *check) for check in lost]
    return tuple(problem for problem in found if problem is not None)


def _arms(sight: Sight, out: BoolArray) -> tuple[BoolArray, str]:
    """When an arm leaves the picture, and which."""
    left = out[:, [Joint.LEFT_ELBOW, Joint.LEFT_WRIST]].any(axis=1)
    right = out[:, [Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST]].any(axis=1)
    sides = [
        bool(stretches(sight.time_s, np.asarray(side), MIN_STRETCH_S)) for side in (left, right)
    ]
    if all(sides):
        return np.asarray(left | right), "Your arms leave the picture"
    return (
        (np.asarray(left), "Your left arm leaves the picture")
        if sides[0]
        else (np.asarray(right), "Your right arm leaves the picture")
    )


def _part(sight: Sight, code: str, out: BoolArray, what: str, change: str) -> Problem | None:
    spells = stretches(sight.time_s, out, MIN_STRETCH_S)
    if not spells:
        return None
    start_s, end_s = spells[0][0], spells[-1][1]
    when = _when(start_s, end_s)
    if len(spells) > 1:
        when = f"{len(spells)} times {when}"
    lost = bool(out.sum() > MOST_OF_CLIP * sight.tracked.sum())
    fatal = lost and code in ("only-legs", "shoulders-out-of-view")
    return Problem(code, f"{what} {when}. {change}.", start_s, end_s, fatal)


def _size(sight: Sight) -> tuple[Problem, ...]:
    if sight.span_px >= SMALL_PX:
        return ()
    message = (
        "You are very small in the picture. Come closer, or put the camera closer, until you fill "
        "at least half of its height."
    )
    return (Problem("too-small", message, fatal=sight.span_px < TOO_SMALL_PX),)


def stretches(
    time_s: FloatArray, flags: BoolArray, least_s: float, bridge_s: float = 0.5
) -> list[tuple[float, float]]:
    """Start and end of each stretch of True lasting ``least_s`` or more, short breaks bridged."""
    spells: list[tuple[float, float]] = []
    for at_s in time_s[flags]:
        if spells and at_s - spells[-1][1] <= bridge_s:
            spells[-1] = (spells[-1][0], float(at_s))
        else:
            spells.append((float(at_s), float(at_s)))
    return [(a, b) for a, b in spells if b - a >= least_s]


def _when(start_s: float, end_s: float) -> str:
    return f"from {clock(start_s)} to {clock(end_s)}"


def clock(time_s: float) -> str:
    """Minutes and seconds, as on a player."""
    minutes, seconds = divmod(round(time_s), 60)
    return f"{minutes}:{seconds:02d}"
