"""What the landmarks say about how the clip was filmed: who is in view, and which parts of them."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.codes import Params, ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.landmarks.track import Joint, SingleArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

MIN_CLIP_S = 2.0
"""Too short to judge: a clip, or the time in which anybody is seen. A proposal."""
MARGIN = 0.02
"""Share of the picture by which a landmark may lie outside it: half a hand is no loss. A proposal.
"""
MIN_STRETCH_S = 0.5
"""Parts of the body that leave the picture for less are not reported. A proposal."""
MIN_ABSENCE_S = 1.0
"""Shorter absences of the subject are not reported. A proposal."""
MOST_OF_CLIP = 0.8
"""From this share of the clip on, a problem is told of the whole clip. A proposal."""
SMALL_PX, TOO_SMALL_PX = 75.0, 40.0
"""Size of the person in a 640-pixel picture. By trial: errors of the elbow as usual at 190, half
as large again at 76, twice as large at 54, and no longer the person at 27. Read on rendered
people."""


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


def view_problems(sight: Sight) -> tuple[RecordingProblem, ...]:
    """Everything about who and what is in view."""
    duration_s = float(np.ptp(sight.time_s)) if len(sight.time_s) else 0.0
    if duration_s < MIN_CLIP_S:
        shown_s = int(10 * duration_s) / 10  # 1.97 s are no 2.0 s
        lengths = {"duration_s": shown_s, "needed_s": MIN_CLIP_S}
        return (RecordingProblem(ProblemCode.TOO_SHORT, fatal=True, params=lengths),)
    seen_s = duration_s * float(sight.tracked.mean())
    if seen_s < MIN_CLIP_S:
        return (RecordingProblem(ProblemCode.NOBODY_IN_VIEW, fatal=True, form="ever"),)
    return _absences(sight) + _parts(sight) + _size(sight)


def _absences(sight: Sight) -> tuple[RecordingProblem, ...]:
    found = []
    for a, b in stretches(sight.time_s, ~sight.tracked, MIN_ABSENCE_S):
        during = (sight.time_s > a - 0.5) & (sight.time_s < b + 0.5)
        if sight.company[during].any():
            found.append(RecordingProblem(ProblemCode.HIDDEN, a, b))
        else:
            found.append(RecordingProblem(ProblemCode.NOBODY_IN_VIEW, a, b, form="while"))
    return tuple(found)


def _parts(sight: Sight) -> tuple[RecordingProblem, ...]:
    """Which parts of the body leave the picture."""
    out = sight.outside & sight.tracked[:, None]
    shoulders = np.asarray(out[:, [Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER]].all(axis=1))
    hips = np.asarray(out[:, [Joint.LEFT_HIP, Joint.RIGHT_HIP]].all(axis=1))
    arms, which = _arms(sight, out & ~shoulders[:, None])
    found = (
        _part(sight, ProblemCode.ONLY_LEGS, shoulders & ~hips),
        _part(sight, ProblemCode.SHOULDERS_OUT_OF_VIEW, shoulders & hips),
        _part(sight, ProblemCode.HIPS_OUT_OF_VIEW, hips & ~shoulders),
        _part(sight, ProblemCode.ARMS_OUT_OF_VIEW, arms, {"arms": which}),
    )
    return tuple(problem for problem in found if problem is not None)


def _arms(sight: Sight, out: BoolArray) -> tuple[BoolArray, str]:
    """When an arm leaves the picture, and which."""
    left = out[:, [Joint.LEFT_ELBOW, Joint.LEFT_WRIST]].any(axis=1)
    right = out[:, [Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST]].any(axis=1)
    sides = [
        bool(stretches(sight.time_s, np.asarray(side), MIN_STRETCH_S)) for side in (left, right)
    ]
    if all(sides):
        return np.asarray(left | right), "both"
    return (np.asarray(left), "left") if sides[0] else (np.asarray(right), "right")


def _part(
    sight: Sight, code: ProblemCode, out: BoolArray, params: Params | None = None
) -> RecordingProblem | None:
    spells = stretches(sight.time_s, out, MIN_STRETCH_S)
    if not spells:
        return None
    mostly = bool(out.sum() > MOST_OF_CLIP * sight.tracked.sum())
    return RecordingProblem(
        code,
        start_s=spells[0][0],
        end_s=spells[-1][1],
        fatal=mostly and code in (ProblemCode.ONLY_LEGS, ProblemCode.SHOULDERS_OUT_OF_VIEW),
        params={**(params or {}), "times": len(spells)},
        form="once" if len(spells) == 1 else "often",
    )


def _size(sight: Sight) -> tuple[RecordingProblem, ...]:
    if sight.span_px >= SMALL_PX:
        return ()
    fatal = sight.span_px < TOO_SMALL_PX
    return (RecordingProblem(ProblemCode.TOO_SMALL, fatal=fatal, form="person"),)


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
