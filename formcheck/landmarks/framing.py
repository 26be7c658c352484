"""How the subject is framed: who is in view, and which parts of the body."""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray, IntArray, SingleArray
from formcheck.catalogue.codes import Params, ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.landmarks.track import Joint

MIN_CLIP_S = 2.0
"""Too short to judge: a clip, or the time in which anybody is seen. A proposal."""
MARGIN = 0.02
"""Share of the picture by which a landmark may lie outside it: half a hand is no loss. A proposal.
"""
MIN_STRETCH_S = 0.5
"""Parts of the body that leave the picture for less are not reported. A proposal."""
BRIDGE_S = 0.5
"""Two stretches that are no further apart than this count as one. A proposal."""
MIN_ABSENCE_S = 1.0
"""Shorter absences of the subject are not reported. A proposal."""
SEVERAL_SHARE = 0.5
"""Of nobody who could be followed, several are told of if they are seen at once for more of the time.
A proposal."""
MOST_OF_CLIP = 0.8
"""From this share of the clip on, a problem is told of the whole clip. A proposal."""
SMALL_PX, TOO_SMALL_PX = 75.0, 40.0
"""Size of the person in a 640-pixel picture. By trial: errors of the elbow as usual at 190, half
as large again at 76, twice as large at 54, and no longer the person at 27. Read on rendered
people."""


@dataclass(frozen=True, slots=True, eq=False)
class Framing:
    """What of the subject is inside the picture at each time.

    time_s   (n,)
    tracked  (n,)     whether the subject was found
    unsteady (n,)     whether the subject jumped about as no person does, and was left out
    outside  (n, 33)  landmarks outside the picture, where the model can only guess
    bystanders  (n,)     whether somebody else was followed
    sighted  (n,)     how many were seen at all, also those who could not be followed as people
    span_px           usual size of the subject in the analysed picture
    """

    time_s: FloatArray
    tracked: BoolArray
    unsteady: BoolArray
    outside: BoolArray
    bystanders: BoolArray
    sighted: IntArray
    span_px: float


def outside_picture(image: SingleArray) -> BoolArray:
    """(n, 33) whether landmarks (n, 33, 3), as shares of the picture, lie outside it."""
    with np.errstate(invalid="ignore"):
        beyond = (image[..., :2] < -MARGIN) | (image[..., :2] > 1 + MARGIN)
    return np.asarray(beyond.any(axis=-1))


def framing_problems(framing: Framing) -> tuple[RecordingProblem, ...]:
    """Everything about who and what is in view."""
    duration_s = float(np.ptp(framing.time_s)) if len(framing.time_s) else 0.0
    if duration_s < MIN_CLIP_S:
        shown_s = int(10 * duration_s) / 10  # 1.97 s are no 2.0 s
        lengths = {"duration_s": shown_s, "needed_s": MIN_CLIP_S}
        return (RecordingProblem(ProblemCode.TOO_SHORT, fatal=True, params=lengths),)
    seen_s = duration_s * float(framing.tracked.mean())
    if seen_s < MIN_CLIP_S:
        return (_nobody(framing, duration_s),)
    return _absences(framing) + _unsteady(framing) + _parts(framing) + _size(framing)


def _nobody(framing: Framing, duration_s: float) -> RecordingProblem:
    """That there is nobody, or nobody who could be followed."""
    seen = framing.sighted > 0
    if duration_s * float(seen.mean()) < MIN_CLIP_S:
        return RecordingProblem(ProblemCode.NOBODY_IN_VIEW, fatal=True, form="ever")
    several = float((framing.sighted[seen] > 1).mean()) > SEVERAL_SHARE
    return RecordingProblem(
        ProblemCode.NOT_FOLLOWED, fatal=True, form="several" if several else "one"
    )


def _absences(framing: Framing) -> tuple[RecordingProblem, ...]:
    found = []
    gone = ~framing.tracked & ~framing.unsteady
    for a, b in stretches(framing.time_s, gone, MIN_ABSENCE_S):
        during = (framing.time_s > a - BRIDGE_S) & (framing.time_s < b + BRIDGE_S)
        if framing.bystanders[during].any():
            found.append(RecordingProblem(ProblemCode.HIDDEN, a, b))
        else:
            found.append(RecordingProblem(ProblemCode.NOBODY_IN_VIEW, a, b, form="while"))
    return tuple(found)


def _unsteady(framing: Framing) -> tuple[RecordingProblem, ...]:
    return tuple(
        RecordingProblem(ProblemCode.UNSTEADY, a, b)
        for a, b in stretches(framing.time_s, framing.unsteady, 0.0)
    )


def _parts(framing: Framing) -> tuple[RecordingProblem, ...]:
    """Which parts of the body leave the picture."""
    out = framing.outside & framing.tracked[:, None]
    shoulders = np.asarray(out[:, [Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER]].all(axis=1))
    hips = np.asarray(out[:, [Joint.LEFT_HIP, Joint.RIGHT_HIP]].all(axis=1))
    arms, which = _arms(framing, out & ~shoulders[:, None])
    found = (
        _part(framing, ProblemCode.ONLY_LEGS, shoulders & ~hips),
        _part(framing, ProblemCode.SHOULDERS_OUT_OF_VIEW, shoulders & hips),
        _part(framing, ProblemCode.HIPS_OUT_OF_VIEW, hips & ~shoulders),
        _part(framing, ProblemCode.ARMS_OUT_OF_VIEW, arms, {"arms": which}),
    )
    return tuple(problem for problem in found if problem is not None)


def _arms(framing: Framing, out: BoolArray) -> tuple[BoolArray, str]:
    """When an arm leaves the picture, and which."""
    left = out[:, [Joint.LEFT_ELBOW, Joint.LEFT_WRIST]].any(axis=1)
    right = out[:, [Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST]].any(axis=1)
    sides = [
        bool(stretches(framing.time_s, np.asarray(side), MIN_STRETCH_S)) for side in (left, right)
    ]
    if all(sides):
        return np.asarray(left | right), "both"
    return (np.asarray(left), "left") if sides[0] else (np.asarray(right), "right")


def _part(
    framing: Framing, code: ProblemCode, out: BoolArray, params: Params | None = None
) -> RecordingProblem | None:
    spells = stretches(framing.time_s, out, MIN_STRETCH_S)
    if not spells:
        return None
    mostly = bool(out.sum() > MOST_OF_CLIP * framing.tracked.sum())
    return RecordingProblem(
        code,
        start_s=spells[0][0],
        end_s=spells[-1][1],
        fatal=mostly and code in (ProblemCode.ONLY_LEGS, ProblemCode.SHOULDERS_OUT_OF_VIEW),
        params={**(params or {}), "times": len(spells)},
        form="once" if len(spells) == 1 else "often",
    )


def _size(framing: Framing) -> tuple[RecordingProblem, ...]:
    if framing.span_px >= SMALL_PX:
        return ()
    fatal = framing.span_px < TOO_SMALL_PX
    return (RecordingProblem(ProblemCode.TOO_SMALL, fatal=fatal, form="person"),)


def stretches(
    time_s: FloatArray, flags: BoolArray, least_s: float, bridge_s: float = BRIDGE_S
) -> list[tuple[float, float]]:
    """Start and end of each stretch of True lasting ``least_s`` or more, short breaks bridged."""
    spells: list[tuple[float, float]] = []
    for at_s in time_s[flags]:
        if spells and at_s - spells[-1][1] <= bridge_s:
            spells[-1] = (spells[-1][0], float(at_s))
        else:
            spells.append((float(at_s), float(at_s)))
    return [(a, b) for a, b in spells if b - a >= least_s]
