"""Selecting the subject among the people who were tracked: the largest, most continuous one."""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.landmarks.framing import outside_picture
from formcheck.landmarks.person_tracker import Tracklet
from formcheck.landmarks.track import Joint

MIN_TRACKLET_S = 0.5
"""Who is in view for less time is not the subject. A proposal."""
UNSTEADY = 0.008
"""Median second difference of shoulders and hips from frame to frame, in spans: up to 0.005 for
rendered people at 15 Hz (less at 30), 0.011-0.03 where the model sees a person in furniture. Read
on rendered people."""
UNSTEADY_RATE_HZ = 15.0
"""Below this rate a smooth movement itself has a second difference, which is allowed for.
Mechanical."""
STILL = 0.02
"""Travel of nose, shoulders, elbows and wrists over the clip, in spans (3 cm): a person moves
more. A proposal."""
SAME_SIZE = 1.4
"""Two people whose sizes differ by more than this factor are not the same person. A proposal."""
SAME_COLOUR = 45.0
"""Largest distance between two mean trunk colours of one person, in RGB levels. A proposal."""
SAME_PLACE = 0.6
"""Two boxes that share this much of what they cover together hold one body, seen twice: somebody
lying, whom a second model lays a little beside, 0.7; two people in front of each other, less. Read
on rendered people."""
NEAR_SPANS, TIME_TO_WALK_S = 1.0, 2.0
"""Whoever appears within this distance of where the subject was lost, or after this time, may be
the subject. A proposal."""
MOTIONLESS_WEIGHT = 0.01
"""What a tracklet that never moves counts for, beside one that does. A proposal."""
_HIPS = [Joint.LEFT_HIP, Joint.RIGHT_HIP]
_MOVING = [Joint.NOSE, *range(Joint.LEFT_SHOULDER, Joint.RIGHT_WRIST + 1)]
"""Joints by which a person is told from a picture of one. Mechanical."""


@dataclass(frozen=True, slots=True, eq=False)
class SubjectSelection:
    """The subject's tracklets in order of time, and those of the bystanders."""

    subject: tuple[Tracklet, ...]
    bystanders: tuple[Tracklet, ...]


def select_subject(tracklets: list[Tracklet]) -> SubjectSelection:
    """Select who was filmed. Tracklets that are too short or too unsteady for a person are dropped.

    The tracklet with the most size x time is the subject's; earlier and later tracklets are joined to it
    if they do not overlap in time, look alike, and are near in place or far in time. Something that
    never moves (a picture on the wall) is the subject only if nobody else is there. A tracklet that
    may be the subject without joining on, say while switching the camera on, is left out, and so is
    one that is the subject seen twice.
    """
    people = [tracklet for tracklet in tracklets if _is_person(tracklet)]
    people.sort(key=_weight, reverse=True)
    subject: list[Tracklet] = []
    for tracklet in people:
        if not subject or _continues(subject, tracklet):
            subject.append(tracklet)
    bystanders = [
        tracklet
        for tracklet in people
        if tracklet not in subject
        and not _may_be_subject(subject, tracklet)
        and not any(_same_place(tracklet, known) for known in subject)
    ]
    subject.sort(key=lambda tracklet: tracklet.time_s[0])
    return SubjectSelection(tuple(subject), tuple(bystanders))


def span_px(tracklet: Tracklet) -> float:
    """The usual size of the person."""
    return float(np.median([body.span_px for body in tracklet.bodies]))


def unsteadiness(tracklet: Tracklet) -> FloatArray:
    """(n,) second difference of shoulders and hips at each pose, in spans; 0 at the ends.

    Where poses are unevenly spaced it is twice the way from the line between the poses around.
    Hips outside the picture are imagined and always unsteady: they do not count.
    """
    trunk = np.array([body.trunk for body in tracklet.bodies])
    jerks = np.zeros((len(trunk), 2))
    if len(trunk) > 2:
        steps_s = np.diff(tracklet.time_s)
        share = (steps_s[:-1] / (steps_s[:-1] + steps_s[1:]))[:, None, None]
        between = (1 - share) * trunk[:-2] + share * trunk[2:]
        jerks[1:-1] = 2 * np.linalg.norm(trunk[1:-1] - between, axis=2)
    outside = outside_picture(np.array([pose.image[_HIPS] for pose in tracklet.poses])).all(axis=1)
    # Few frames are analysed only where there is little movement that would need an allowance.
    step_s = float(np.percentile(np.diff(tracklet.time_s), 10)) if len(trunk) > 1 else 0.0
    allowance = max(1.0, step_s * UNSTEADY_RATE_HZ) ** 2  # a smooth movement's share at low rates
    return np.where(outside, jerks[:, 0], jerks.mean(axis=1)) / (span_px(tracklet) * allowance)


def moves(tracklet: Tracklet) -> bool:
    """Whether the head or an arm moves in the course of the tracklet."""
    points = np.array([body.points[_MOVING] for body in tracklet.bodies])
    travel = np.percentile(points, 95, axis=0) - np.percentile(points, 5, axis=0)
    return bool(np.linalg.norm(travel, axis=1).max() > STILL * span_px(tracklet))


def _duration_s(tracklet: Tracklet) -> float:
    return tracklet.time_s[-1] - tracklet.time_s[0]


def _is_person(tracklet: Tracklet) -> bool:
    return (
        _duration_s(tracklet) >= MIN_TRACKLET_S
        and float(np.median(unsteadiness(tracklet))) < UNSTEADY
    )


def _weight(tracklet: Tracklet) -> float:
    """Size x time; tracklets without movement come last."""
    return (
        span_px(tracklet) * _duration_s(tracklet) * (1.0 if moves(tracklet) else MOTIONLESS_WEIGHT)
    )


def _may_be_subject(subject: list[Tracklet], tracklet: Tracklet) -> bool:
    """Whether nothing but size or place speaks against a tracklet: the subject at the camera, say."""
    return _colour_distance(subject[0], tracklet) < SAME_COLOUR and all(
        _gap_s(known, tracklet) > 0 for known in subject
    )


def _same_place(tracklet: Tracklet, known: Tracklet) -> bool:
    """Whether two tracklets cover the same part of the picture, most of the time of the first."""
    at = {index: place for place, index in enumerate(known.index)}
    pairs = [
        (body.box, known.bodies[at[index]].box)
        for index, body in zip(tracklet.index, tracklet.bodies, strict=True)
        if index in at
    ]
    if len(pairs) < len(tracklet.index) / 2:
        return False
    return float(np.median([_shared(one, other) for one, other in pairs])) > SAME_PLACE


def _shared(one: FloatArray, other: FloatArray) -> float:
    """What two boxes share of the area that they cover together."""
    sides = np.minimum(one[2:], other[2:]) - np.maximum(one[:2], other[:2])
    both = float(np.prod(np.maximum(sides, 0)))
    area = float(np.prod(one[2:] - one[:2]) + np.prod(other[2:] - other[:2]))
    return both / max(area - both, 1.0)


def _continues(subject: list[Tracklet], tracklet: Tracklet) -> bool:
    """Whether a tracklet is the same person before or after the tracklets chosen so far."""
    sizes = sorted((span_px(subject[0]), span_px(tracklet)))
    if sizes[1] > SAME_SIZE * sizes[0] or not _may_be_subject(subject, tracklet):
        return False
    return all(
        _gap_s(known, tracklet) >= TIME_TO_WALK_S or _step_spans(known, tracklet) < NEAR_SPANS
        for known in subject
    )


def _gap_s(one: Tracklet, other: Tracklet) -> float:
    """Time between two tracklets; negative where they overlap."""
    first, second = sorted((one, other), key=lambda tracklet: tracklet.time_s[0])
    return second.time_s[0] - first.time_s[-1]


def _step_spans(one: Tracklet, other: Tracklet) -> float:
    """How far the body moves from the end of one tracklet to the start of the next."""
    first, second = sorted((one, other), key=lambda tracklet: tracklet.time_s[0])
    return first.bodies[-1].distance(second.bodies[0])


def _colour_distance(one: Tracklet, other: Tracklet) -> float:
    colours = [np.median([body.colour for body in p.bodies], axis=0) for p in (one, other)]
    return float(np.linalg.norm(colours[0] - colours[1]))
