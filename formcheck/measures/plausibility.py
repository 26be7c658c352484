"""Is the skeleton believable? Segment lengths over time."""

import numpy as np

from formcheck.catalogue.arrays import BoolArray
from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.measures.posture import Posture
from formcheck.measures.table import SIDES, Side
from formcheck.measures.timebase import runs

LENGTH_BAND = (0.3, 1.4)
"""Share of an upper arm's own long reading (90th percentile) that it may show: world lengths come
out 10-30 % short, at worst by half, when the arm points at the camera, and never much longer.
Read on rendered people."""
SEGMENT_CHANGE = 0.18
"""Standard deviation over median length, median over eight limb segments: up to 0.12 in good tracks,
0.24 in a wholly wrong one. Read on rendered people."""
_SEGMENTS = (("shoulder", "elbow"), ("elbow", "wrist"), ("hip", "knee"), ("knee", "ankle"))
_MIN_STRETCH_S = 0.3
"""Shorter ones are left out without a word. A proposal."""


def implausible(posture: Posture) -> tuple[BoolArray, tuple[RecordingProblem, ...]]:
    """(n,) True where the skeleton cannot be one person's, and what to tell the reader."""
    stretched = np.zeros(len(posture.time_s), dtype=bool)
    for side in SIDES:
        stretched |= _odd_lengths(posture, side)
    problems = _describe(posture, stretched, ProblemCode.ODD_LENGTHS)
    return stretched, problems + _not_one_body(posture)


def _not_one_body(posture: Posture) -> tuple[RecordingProblem, ...]:
    """A fatal problem when most segments change their length: the pose is not this body's.

    Seen where the model takes knees for shoulders, with full belief in what it sees.
    """
    changes = []
    for side in SIDES:
        for upper, lower in _SEGMENTS:
            segment = posture.world_of(lower, side) - posture.world_of(upper, side)
            length = np.linalg.norm(segment, axis=1)
            length = length[np.isfinite(length)]
            changes.append(np.std(length) / np.median(length) if len(length) else 0.0)
    if np.median(changes) <= SEGMENT_CHANGE:
        return ()
    return (RecordingProblem(ProblemCode.BODY_NOT_RECOGNISED, fatal=True),)


def _odd_lengths(posture: Posture, side: Side) -> BoolArray:
    arm = posture.world_of("elbow", side) - posture.world_of("shoulder", side)
    upper = np.linalg.norm(arm, axis=1)
    known = np.isfinite(upper)
    if not known.any():
        return np.zeros(len(upper), dtype=bool)
    share = np.nan_to_num(upper / np.percentile(upper[known], 90), nan=1.0)
    return np.asarray((share < LENGTH_BAND[0]) | (share > LENGTH_BAND[1]))


def _describe(
    posture: Posture, flags: BoolArray, code: ProblemCode
) -> tuple[RecordingProblem, ...]:
    return tuple(
        RecordingProblem(code, float(posture.time_s[a]), float(posture.time_s[b - 1]))
        for a, b in runs(flags)
        if (b - a) / posture.rate_hz >= _MIN_STRETCH_S
    )
