"""Who was filmed: the people among the tracklets, and the one of them who does the exercise."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.landmarks.person_tracker import Tracklet
from formcheck.landmarks.steadiness import is_person, span_px
from formcheck.landmarks.track import Joint

STILL = 0.02
"""Travel of nose, shoulders, elbows and wrists over the clip, in spans (3 cm): a person moves
more. A proposal."""
SAME_SIZE = 1.4
"""Two people whose sizes differ by more than this factor are not the same person; of two who do the
same, the one who is larger by more than this is who was filmed. A proposal."""
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
RIVAL_SHARE = 0.5
"""Whoever moves the arms as far and as long as this share of the busiest one's may be meant as well.
A proposal."""
MIRRORED_ALIKE = 0.95
"""Correlation of the heights of one's left and right hand with those of the other's right and left
from which the other is the mirror image. A proposal."""
_FEW = 10
"""Common frames fewer than this tell nothing. Mechanical."""
_MOVING = [Joint.NOSE, *range(Joint.LEFT_SHOULDER, Joint.RIGHT_WRIST + 1)]
"""Joints by which a person is told from a picture of one. Mechanical."""
_SHOULDERS = [Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER]
_ARMS = list(range(Joint.LEFT_ELBOW, Joint.RIGHT_WRIST + 1))
"""Joints by whose travel an exercise is told. Mechanical."""
_WRISTS = [Joint.LEFT_WRIST, Joint.RIGHT_WRIST]

Person = tuple[Tracklet, ...]
"""All tracklets of one person, in order of time."""


@dataclass(frozen=True, slots=True, eq=False)
class SubjectSelection:
    """Who is measured, and who else is there.

    ``people`` is everybody, from left to right in the picture: the persons that ``--person``
    numbers from 1. ``subject`` is one of them, or empty if there is nobody or no such number;
    ``bystanders`` are the tracklets of the others. ``unclear`` is True where several may be meant.
    """

    subject: Person
    bystanders: tuple[Tracklet, ...]
    people: tuple[Person, ...] = ()
    unclear: bool = False


def select_subject(tracklets: list[Tracklet], number: int | None = None) -> SubjectSelection:
    """Select who was filmed. Tracklets that are too short or too unsteady for a person are dropped.

    Tracklets are joined to one person if they do not overlap in time, look alike, and are near in
    place or far in time; one that is a person seen twice is left out. The subject is who moves the
    arms furthest and longest, however small in the picture. Of several who do about the same it is
    the one who is clearly the largest, or who stands before the mirror; else that is ``unclear``,
    unless it is said by ``number``. Something that never moves (a picture on the wall) is the
    subject only if nobody else is there. A tracklet that may be the subject without joining on, say
    while switching the camera on, is neither.
    """
    groups = _groups([tracklet for tracklet in tracklets if is_person(tracklet)])
    if not groups:
        return SubjectSelection((), ())
    subject, unclear = _busiest(groups)
    people = tuple(
        sorted(
            (one for one in groups if one is subject or not _all_may_be(subject, one)),
            key=_middle_x,
        )
    )
    if number is not None:
        subject, unclear = people[number - 1] if number <= len(people) else (), False
    bystanders = tuple(
        tracklet
        for tracklet in sorted(_all(groups), key=_weight, reverse=True)
        if subject and tracklet not in subject and not _may_be_subject(subject, tracklet)
    )
    return SubjectSelection(subject, bystanders, people, unclear)


def moves(tracklet: Tracklet) -> bool:
    """Whether the head or an arm moves in the course of the tracklet."""
    points = np.array([body.points[_MOVING] for body in tracklet.bodies])
    return _travel(points) > STILL * span_px(tracklet)


def _groups(tracklets: list[Tracklet]) -> list[Person]:
    """The people, those of most size x time first."""
    groups: list[list[Tracklet]] = []
    for tracklet in sorted(tracklets, key=_weight, reverse=True):
        if any(_same_place(tracklet, known) for group in groups for known in group):
            continue
        own = next((group for group in groups if _continues(group, tracklet)), None)
        if own is None:
            groups.append([tracklet])
        else:
            own.append(tracklet)
    return [tuple(sorted(group, key=lambda one: one.time_s[0])) for group in groups]


def _busiest(groups: list[Person]) -> tuple[Person, bool]:
    """Who does the exercise, and whether somebody else may be meant just as well."""
    main = max(groups, key=_exercised)
    if not any(moves(tracklet) for tracklet in main):
        return groups[0], False
    rivals = [
        one
        for one in groups
        if one is main
        or (_exercised(one) >= RIVAL_SHARE * _exercised(main) and not _all_may_be(main, one))
    ]
    by_size = sorted(rivals, key=_size, reverse=True)
    if len(rivals) == 1 or _size(by_size[0]) > SAME_SIZE * _size(by_size[1]):
        return by_size[0], False
    mirrored = all(_mirror_image(one, other) for one, other in combinations(rivals, 2))
    return (by_size[0], False) if mirrored else (rivals[0], True)


def _exercised(person: Person) -> float:
    """How far elbows and wrists travel about the shoulders, in spans, times how long."""
    points = np.concatenate([_about_shoulders(tracklet) for tracklet in person])
    return _travel(points) * sum(map(_duration_s, person))


def _about_shoulders(tracklet: Tracklet) -> FloatArray:
    """(n, 4, 2) elbows and wrists from the middle of the shoulders, in spans."""
    points = np.array([body.points for body in tracklet.bodies], dtype=float)
    middle = points[:, _SHOULDERS].mean(axis=1, keepdims=True)
    return np.asarray((points[:, _ARMS] - middle) / span_px(tracklet))


def _travel(points: FloatArray) -> float:
    """The furthest that any of the points (n, k, 2) travels, single bad readings left out."""
    low, high = np.percentile(points, (5, 95), axis=0)
    return float(np.linalg.norm(high - low, axis=1).max())


def _mirror_image(one: Person, other: Person) -> bool:
    """Whether the hands of one go up and down as the other hands of the other do."""
    mine, theirs = _hand_heights(one), _hand_heights(other)
    common = sorted(mine.keys() & theirs.keys())
    if len(common) < _FEW:
        return False
    here = np.array([mine[at] for at in common])
    there = np.array([theirs[at][::-1] for at in common])
    here, there = here - here.mean(axis=0), there - there.mean(axis=0)
    size = np.linalg.norm(here) * np.linalg.norm(there)
    return bool(size > 0 and np.sum(here * there) / size > MIRRORED_ALIKE)


def _hand_heights(person: Person) -> dict[int, FloatArray]:
    """Frame -> heights of left and right wrist about the shoulders, in spans."""
    heights: dict[int, FloatArray] = {}
    for tracklet in person:
        about = _about_shoulders(tracklet)[:, [_ARMS.index(wrist) for wrist in _WRISTS], 1]
        heights |= dict(zip(tracklet.index, about, strict=True))
    return heights


def _size(person: Person) -> float:
    return max(span_px(tracklet) for tracklet in person)


def _middle_x(person: Person) -> float:
    return float(np.median([body.trunk[:, 0].mean() for one in person for body in one.bodies]))


def _all(groups: list[Person]) -> list[Tracklet]:
    return [tracklet for group in groups for tracklet in group]


def _duration_s(tracklet: Tracklet) -> float:
    return tracklet.time_s[-1] - tracklet.time_s[0]


def _weight(tracklet: Tracklet) -> float:
    """Size x time; tracklets without movement come last."""
    return (
        span_px(tracklet) * _duration_s(tracklet) * (1.0 if moves(tracklet) else MOTIONLESS_WEIGHT)
    )


def _all_may_be(subject: Person, other: Person) -> bool:
    return all(_may_be_subject(subject, tracklet) for tracklet in other)


def _may_be_subject(subject: Sequence[Tracklet], tracklet: Tracklet) -> bool:
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


def _continues(subject: Sequence[Tracklet], tracklet: Tracklet) -> bool:
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
