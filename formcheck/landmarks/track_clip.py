"""Frames in, the subject's landmark track out."""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray, IntArray, SingleArray
from formcheck.catalogue.codes import Params, ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.clips.types import Frame
from formcheck.heap import hand_back
from formcheck.landmarks.bundles import Bundle
from formcheck.landmarks.frame_sampler import FrameSampler
from formcheck.landmarks.framing import Framing, framing_problems, outside_picture, stretches
from formcheck.landmarks.interpolation import interpolate_skipped
from formcheck.landmarks.person_tracker import PersonTracker, Tracklet
from formcheck.landmarks.picture_quality import PictureQuality
from formcheck.landmarks.sides import exchange_problems, find_exchange, put_back
from formcheck.landmarks.steadiness import span_px, unsteady_frames
from formcheck.landmarks.subject import Person, SubjectSelection, moves, select_subject
from formcheck.landmarks.track import LANDMARK_COUNT, Bystanders, Joint, LandmarkTrack

EDGE_S = 0.15
"""Left out on both sides of a break: somebody else's arm is in front, or the model still settles.
A proposal."""

MOSTLY_TOGETHER = 0.5
"""With bystanders in view for more of the clip than this, the subject is named by the side of the
picture. A proposal."""
BYSTANDER_BRIDGE_S = 2.0
"""Bystanders who are gone for less than this were in view all along. A proposal."""
_SHOULDERS = [Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER]


def track_frames(
    frames: Iterator[Frame],
    *,
    bundle: Bundle,
    width: int,
    height: int,
    every_frame: bool = False,
    person: int | None = None,
    on_progress: Callable[[float], None] | None = None,
) -> LandmarkTrack:
    """Track everybody through the frames and give the subject's landmarks.

    ``width`` and ``height`` are those of the upright full-size picture, in whose pixels the track is
    given; the frames may be smaller. Frames that the pose model skips (see ``frame_sampler``)
    are interpolated, unless ``every_frame`` is asked for. ``person`` says who is the subject, counted
    from 1 and from left to right (see ``subject``). ``on_progress`` is told the time of each frame.
    What is wrong with the recording is in the track's ``problems``.

    Raises
    ------
    ModelError
        If the pose model cannot be started or fails.
    """
    tracking = _track(frames, bundle, every_frame, on_progress)
    hand_back()
    time_s = tracking.time_s
    selection = select_subject(tracking.tracklets, person)
    face_hidden = any(one.code == ProblemCode.FACE_HIDDEN for one in tracking.problems)
    poses = _arrays(selection.subject, time_s, tracking.analysed, (width, height), face_hidden)
    image, world, visibility = poses.arrays
    outside = outside_picture(image)
    visibility[outside] = 0.0
    sizes = [span_px(tracklet) for tracklet in selection.subject]
    bystanders = _sighted(selection.bystanders, time_s) > 0
    seen = Framing(
        time_s,
        np.isfinite(image[:, 0, 0]),
        poses.unsteady,
        outside,
        bystanders,
        _sighted(tracking.tracklets, time_s),
        max(sizes, default=0.0),
    )
    problems = _who_and_what_is_in_view(selection, seen, person) + tracking.problems
    if not any(problem.fatal for problem in problems):
        problems += _of_subject(selection, poses, seen, (width, height))
    image *= (width, height, width)
    return LandmarkTrack(
        time_s=time_s,
        image_px=image,
        world_m=world,
        visibility=visibility,
        width=width,
        height=height,
        model=bundle.name,
        model_sha256=bundle.sha256,
        problems=problems,
        skipped=np.flatnonzero(~tracking.analysed),
        exchanged=np.flatnonzero(poses.exchanged),
        bystanders=_bystanders(tracking.tracklets, selection, (width, height)),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Tracking:
    """What tracking gave: the times of the frames, which were analysed, and who was in view."""

    time_s: FloatArray
    analysed: BoolArray
    tracklets: list[Tracklet]
    problems: tuple[RecordingProblem, ...]


def _track(
    frames: Iterator[Frame],
    bundle: Bundle,
    every_frame: bool,
    on_progress: Callable[[float], None] | None,
) -> _Tracking:
    quality, sampler = PictureQuality(), FrameSampler()
    times: list[float] = []
    analysed: list[int] = []
    with PersonTracker(bundle) as tracker:

        def analyse(selected: list[tuple[int, Frame]]) -> None:
            for index, frame in selected:
                tracker.update(index, frame)
                quality.sample(frame, tracker.largest)
                analysed.append(index)

        for index, frame in enumerate(frames):
            times.append(frame.time_s)
            if every_frame:
                analyse([(index, frame)])
            else:
                analyse(sampler.select(index, frame, tracker.only_person))
            if on_progress is not None:
                on_progress(frame.time_s)
        analyse(sampler.flush())
    return _Tracking(
        np.array(times),
        np.isin(np.arange(len(times)), analysed),
        tracker.tracklets,
        quality.problems(),
    )


def _bystanders(
    tracklets: list[Tracklet], selection: SubjectSelection, size: tuple[int, int]
) -> Bystanders:
    """Everybody who is not the subject, and what was too unsteady or too short to be sure of."""
    rows = [
        (time_s, pose.image[:, :2] * size)
        for tracklet in tracklets
        if tracklet not in selection.subject
        for time_s, pose in zip(tracklet.time_s, tracklet.poses, strict=True)
    ]
    rows.sort(key=lambda row: row[0])
    if not rows:
        return Bystanders()
    return Bystanders(
        np.array([t for t, _ in rows]), np.array([points for _, points in rows], np.float32)
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Poses:
    """The subject at all frames: ``arrays`` image, world and visibility, NaN without a subject.

    ``unsteady`` and ``exchanged`` (n,) mark where the body was unsteady, and where left and right
    were put back; ``sides_unclear`` is True where they cannot be told apart.
    """

    arrays: tuple[SingleArray, SingleArray, SingleArray]
    unsteady: BoolArray
    exchanged: BoolArray
    sides_unclear: bool


def _arrays(
    subject: tuple[Tracklet, ...],
    time_s: FloatArray,
    analysed: BoolArray,
    size: tuple[int, int],
    face_hidden: bool,
) -> _Poses:
    count = len(time_s)
    image, world = (np.full((count, LANDMARK_COUNT, 3), np.nan, np.float32) for _ in range(2))
    visibility = np.full((count, LANDMARK_COUNT), np.nan, np.float32)
    tracklet_of = np.full(count, -1)
    unsteady = np.zeros(count, dtype=bool)
    for number, tracklet in enumerate(subject):
        unsteady |= unsteady_frames(tracklet, time_s)
        first_s = tracklet.time_s[0] + (EDGE_S if number > 0 else 0.0)
        last_s = tracklet.time_s[-1] - (EDGE_S if number < len(subject) - 1 else 0.0)
        for at, pose in zip(tracklet.index, tracklet.poses, strict=True):
            if first_s <= time_s[at] <= last_s and not unsteady[at]:
                image[at], world[at], visibility[at] = pose.image, pose.world, pose.visibility
                tracklet_of[at] = number
    arrays = image, world, visibility
    exchanged, unclear = _put_sides_back(time_s, tracklet_of, arrays, size, face_hidden)
    interpolate_skipped(time_s, analysed, tracklet_of, arrays)
    return _Poses(arrays, unsteady, exchanged, unclear)


def _put_sides_back(
    time_s: FloatArray,
    tracklet_of: IntArray,
    arrays: tuple[SingleArray, SingleArray, SingleArray],
    size: tuple[int, int],
    face_hidden: bool,
) -> tuple[BoolArray, bool]:
    """Put exchanged sides back in place; (n,) where, skipped frames beside them included, and
    whether the sides cannot be told apart, so that nothing was changed.
    """
    exchanged = np.zeros(len(time_s), dtype=bool)
    found = np.flatnonzero(tracklet_of >= 0)
    image, world, visibility = (values[found] for values in arrays)
    exchange = find_exchange(
        time_s[found],
        tracklet_of[found],
        image[:, :, :2] * size,
        world,
        visibility,
        face_hidden=face_hidden,
    )
    if exchange.unclear or not exchange.exchanged.any():
        return exchanged, exchange.unclear
    exchanged[found[exchange.exchanged]] = True
    put_back(exchanged, *arrays)
    beside = np.interp(np.arange(len(time_s)), found, exchanged[found]) > 0
    return np.asarray(beside), False


def _who_and_what_is_in_view(
    selection: SubjectSelection, framing: Framing, person: int | None
) -> tuple[RecordingProblem, ...]:
    """What there is to say of the framing, if there is the person who was asked for."""
    people = len(selection.people)
    if person is None or person <= people or not people:
        return framing_problems(framing)
    counted: Params = {"person": person, "people": people}
    return (RecordingProblem(ProblemCode.NO_SUCH_PERSON, fatal=True, params=counted),)


def _of_subject(
    selection: SubjectSelection, poses: _Poses, framing: Framing, size: tuple[int, int]
) -> tuple[RecordingProblem, ...]:
    """What there is to say of the one who is measured, if it can be told who that is."""
    return _open_choice(selection, size) or (
        exchange_problems(framing.time_s, poses.exchanged, poses.sides_unclear)
        + _bystander_problems(selection, framing.time_s, framing.bystanders)
        + _stillness(selection)
    )


def _sighted(tracklets: Sequence[Tracklet], time_s: FloatArray) -> IntArray:
    """(n,) how many of the tracklets there are at each time."""
    sighted = np.zeros(len(time_s), dtype=int)
    for tracklet in tracklets:
        sighted[tracklet.index[0] : tracklet.index[-1] + 1] += 1
    return sighted


def _open_choice(
    selection: SubjectSelection, size: tuple[int, int]
) -> tuple[RecordingProblem, ...]:
    """That it cannot be told who is meant, with where each person is at a moment that shows most."""
    if not selection.unclear:
        return ()
    places = [_places(person) for person in selection.people]
    shown = Counter(index for place in places for index in place)
    most = max(shown.values())
    best = sorted(index for index, count in shown.items() if count == most)
    index = best[len(best) // 2]
    numbers = [number for number, place in enumerate(places, start=1) if index in place]
    x, y = zip(*(places[number - 1][index][1] * size for number in numbers), strict=True)
    params: Params = {
        "people": len(places),
        "at_s": next(place[index][0] for place in places if index in place),
        "numbers": tuple(map(float, numbers)),
        "x_px": tuple(map(float, x)),
        "y_px": tuple(map(float, y)),
    }
    return (RecordingProblem(ProblemCode.WHO_IS_MEANT, fatal=True, params=params),)


def _places(person: Person) -> dict[int, tuple[float, FloatArray]]:
    """Frame -> its time and the middle of the shoulders, as shares of the picture."""
    return {
        index: (time_s, pose.image[_SHOULDERS, :2].mean(axis=0))
        for tracklet in person
        for index, time_s, pose in zip(tracklet.index, tracklet.time_s, tracklet.poses, strict=True)
    }


def _bystander_problems(
    selection: SubjectSelection, time_s: FloatArray, bystanders: BoolArray
) -> tuple[RecordingProblem, ...]:
    """Who else was in view, when, and whom the sheet is about."""
    about = _side(selection) if bystanders.mean() > MOSTLY_TOGETHER else "busiest"
    return tuple(
        RecordingProblem(ProblemCode.SOMEBODY_ELSE_IN_VIEW, a, b, params={"about": about})
        for a, b in stretches(time_s, bystanders, 0.0, bridge_s=BYSTANDER_BRIDGE_S)
    )


def _side(selection: SubjectSelection) -> str:
    """Where the subject is, beside whoever else is in view."""
    own, other = (
        np.median([body.trunk[:, 0].mean() for tracklet in tracklets for body in tracklet.bodies])
        for tracklets in (selection.subject, selection.bystanders)
    )
    return "left" if own < other else "right"


def _stillness(selection: SubjectSelection) -> tuple[RecordingProblem, ...]:
    if any(moves(tracklet) for tracklet in selection.subject):
        return ()
    return (RecordingProblem(ProblemCode.NOTHING_MOVES),)
