"""Tracking everybody in view, so that the subject can be chosen once the whole clip is known.

Usually one person is in view, which takes one model. About once a second people are detected afresh;
each new one gets a tracking model of their own, started on a picture in which the others are painted
over (it then keeps to its person by itself). Where two tracked people become one, or a person jumps,
their tracklets end; the tracklets of one person are joined at the end of the clip.
"""

from contextlib import ExitStack
from dataclasses import dataclass, field
from functools import partial
from typing import Self

from formcheck.clips.types import Frame
from formcheck.landmarks.body import Body, body_of, paint_over
from formcheck.landmarks.bundles import Bundle
from formcheck.landmarks.pose import Pose, PoseModel
from formcheck.landmarks.record_array import RecordArray

DETECT_EVERY_S = 1.2
"""A detection costs as much as 1.5 frames; somebody who walks through is in view for longer.
A proposal."""
DETECT_OFTEN_S = 0.2
"""Time between detections while nobody is tracked, and for UNSURE_S after a person was lost. A
proposal."""
UNSURE_S = 2.0
"""After a person was lost, people are detected often for this long. A proposal."""
SEARCH_S = 1.0
"""A person not found again within this long has left. A proposal."""
MAX_PEOPLE = 3
"""No more people are tracked at once: each costs as much as the subject. A proposal."""
SAME_PERSON = 0.1
"""Trunk distance in spans (0.17 m): one person found twice is within 0.02, two people who are both
in sight are further apart. Read on rendered people."""
MERGED_S = 0.5
"""Two who are found at the same place for longer than this are one of them, found twice. A
proposal."""
JUMP_SPANS, JUMP_SPANS_PER_S, JUMP_MOST_SPANS = 0.08, 3.0, 0.5
"""A trunk moving faster than 3 spans (5 m) a second has become somebody else's. A proposal."""


@dataclass(slots=True, eq=False)
class Tracklet:
    """One person tracked without interruption: a pose and a body for each frame index."""

    index: list[int] = field(default_factory=list)
    time_s: list[float] = field(default_factory=list)
    poses: RecordArray[Pose] = field(default_factory=partial(RecordArray, Pose))
    bodies: RecordArray[Body] = field(default_factory=partial(RecordArray, Body))

    def add(self, index: int, time_s: float, pose: Pose, body: Body) -> None:
        """Append one frame."""
        self.index.append(index)
        self.time_s.append(time_s)
        self.poses.append(pose)
        self.bodies.append(body)


@dataclass(slots=True, eq=False)
class _Person:
    model: PoseModel
    closing: ExitStack
    last: Body
    last_s: float
    pose: Pose | None = None  # in the present frame
    tracklet: Tracklet = field(default_factory=Tracklet)
    merged_since_s: float | None = None


class PersonTracker:
    """Tracks everybody in a clip: ``update`` takes the frames, ``tracklets`` are whole at the end."""

    def __init__(self, bundle: Bundle) -> None:
        self._bundle = bundle
        self._detector = PoseModel(bundle, "detect")
        self._people: list[_Person] = []
        self._next_detection_s = 0.0
        self._unsure_until_s = 0.0
        self.tracklets: list[Tracklet] = []

    def __enter__(self) -> Self:
        self._detector.__enter__()
        return self

    def __exit__(self, *error: object) -> None:
        for person in list(self._people):
            self._end(person)
        self._detector.__exit__(*error)

    @property
    def largest(self) -> Body | None:
        """The largest person in the last frame."""
        bodies = [person.last for person in self._people if person.pose]
        return max(bodies, key=lambda body: body.span_px, default=None)

    @property
    def only_person(self) -> Tracklet | None:
        """The only person tracked, if found in the last frame; None with several or with nobody."""
        if len(self._people) != 1 or self._people[0].pose is None:
            return None
        return self._people[0].tracklet

    def update(self, index: int, frame: Frame) -> None:
        """Take in the next frame."""
        if frame.time_s >= self._next_detection_s:
            self._detect(frame)
        for person in list(self._people):
            self._step(person, frame)
        merged = [person for person in self._people if self._merged(person)]
        for person in list(self._people):
            if person in merged:
                self._end_if_merged_for_long(person, frame.time_s)
            elif person.pose:
                person.merged_since_s = None
                person.tracklet.add(index, frame.time_s, person.pose, person.last)

    def _detect(self, frame: Frame) -> None:
        found = [body_of(pose, frame.image) for pose in self._detector.people(frame.image)]
        found.sort(key=lambda body: -body.span_px)
        for body in found:
            known = any(body.distance(person.last) < 2 * SAME_PERSON for person in self._people)
            if not known and len(self._people) < MAX_PEOPLE:
                self._people.append(self._begin(body, frame.time_s))
        often = not self._people or frame.time_s < self._unsure_until_s
        self._next_detection_s = frame.time_s + (DETECT_OFTEN_S if often else DETECT_EVERY_S)

    def _begin(self, body: Body, time_s: float) -> _Person:
        closing = ExitStack()
        model = closing.enter_context(PoseModel(self._bundle, "track"))
        return _Person(model, closing, last=body, last_s=time_s)

    def _step(self, person: _Person, frame: Frame) -> None:
        """Find one person in this frame; end the tracklet if they are gone or have jumped."""
        image = frame.image
        if person.pose is None:
            others = [other.last for other in self._people if other is not person]
            image = paint_over(image, others, person.last)
        person.pose = next(iter(person.model.people(image, frame.time_s)), None)
        since_s = frame.time_s - person.last_s
        if person.pose is None:
            if since_s > SEARCH_S:
                self._lose(person, frame.time_s)
            return
        body = body_of(person.pose, frame.image)
        reach = min(JUMP_SPANS + JUMP_SPANS_PER_S * since_s, JUMP_MOST_SPANS)
        if body.distance(person.last) > reach:
            self._lose(person, frame.time_s)
        person.last, person.last_s = body, frame.time_s

    def _merged(self, person: _Person) -> bool:
        """Whether the track of somebody else, begun before this frame, is on the same body."""
        return any(
            person.last.distance(other.last) < SAME_PERSON
            for other in self._people
            if other is not person and other.tracklet.index
        )

    def _end_if_merged_for_long(self, person: _Person, time_s: float) -> None:
        """Two models on one body for long: both end, and a detection finds who is there."""
        if person.merged_since_s is None:
            person.merged_since_s = time_s
        elif time_s - person.merged_since_s > MERGED_S:
            self._lose(person, time_s)

    def _lose(self, person: _Person, time_s: float) -> None:
        """End a tracklet before the clip ends, and detect who is there in the next frame."""
        self._end(person)
        self._next_detection_s, self._unsure_until_s = time_s, time_s + UNSURE_S

    def _end(self, person: _Person) -> None:
        person.closing.close()
        self._people.remove(person)
        if person.tracklet.index:
            self.tracklets.append(person.tracklet)
