"""Frames in, the subject's landmark track out."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import median_filter

from formcheck.catalogue.arrays import BoolArray, FloatArray, IntArray, SingleArray
from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.clips.types import Frame
from formcheck.heap import hand_back
from formcheck.landmarks.bundles import Bundle
from formcheck.landmarks.frame_sampler import FrameSampler
from formcheck.landmarks.framing import Framing, framing_problems, outside_picture, stretches
from formcheck.landmarks.interpolation import hold_last, interpolate_skipped
from formcheck.landmarks.person_tracker import PersonTracker, Tracklet
from formcheck.landmarks.picture_quality import PictureQuality
from formcheck.landmarks.sides import exchange_problems, find_exchange, put_back
from formcheck.landmarks.subject import (
    UNSTEADY,
    SubjectSelection,
    moves,
    select_subject,
    span_px,
    unsteadiness,
)
from formcheck.landmarks.track import (
    LANDMARK_COUNT,
    Bystanders,
    LandmarkTrack,
)

EDGE_S = 0.15
"""Left out on both sides of a break: somebody else's arm is in front, or the model still settles.
A proposal."""

UNSTEADY_OVER_S = 1.0
"""Steadiness is judged by the median over this long. A proposal."""
MOSTLY_TOGETHER = 0.5
"""With bystanders in view for more of the clip than this, the subject is named by the side of the
picture. A proposal."""
BYSTANDER_BRIDGE_S = 2.0
"""Bystanders who are gone for less than this were in view all along. A proposal."""


def track_frames(
    frames: Iterator[Frame],
    *,
    bundle: Bundle,
    width: int,
    height: int,
    every_frame: bool = False,
    on_progress: Callable[[float], None] | None = None,
) -> LandmarkTrack:
    """Track everybody through the frames and give the subject's landmarks.

    ``width`` and ``height`` are those of the upright full-size picture, in whose pixels the track is
    given; the frames may be smaller. Frames that the pose model skips (see ``frame_sampler``)
    are interpolated, unless ``every_frame`` is asked for. ``on_progress`` is told the time of each
    frame.
    What is wrong with the recording is in the track's ``problems``.

    Raises
    ------
    ModelError
        If the pose model cannot be started or fails.
    """
    tracking = _track(frames, bundle, every_frame, on_progress)
    hand_back()
    time_s = tracking.time_s
    selection = select_subject(tracking.tracklets)
    poses = _arrays(selection.subject, time_s, tracking.analysed, (width, height))
    image, world, visibility = poses.arrays
    outside = outside_picture(image)
    visibility[outside] = 0.0
    sizes = [span_px(tracklet) for tracklet in selection.subject]
    bystanders = np.zeros(len(time_s), dtype=bool)
    for tracklet in selection.bystanders:
        bystanders[tracklet.index[0] : tracklet.index[-1] + 1] = True
    found = np.isfinite(image[:, 0, 0])
    problems = framing_problems(
        Framing(time_s, found, outside, bystanders, max(sizes, default=0.0))
    )
    problems += tracking.problems
    if not any(problem.fatal for problem in problems):
        problems += exchange_problems(time_s, poses.exchanged, poses.sides_unclear)
        problems += _unsteady_problems(time_s, poses.unsteady)
        problems += _bystander_problems(selection, time_s, bystanders) + _stillness(selection)
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
    subject: tuple[Tracklet, ...], time_s: FloatArray, analysed: BoolArray, size: tuple[int, int]
) -> _Poses:
    count = len(time_s)
    image, world = (np.full((count, LANDMARK_COUNT, 3), np.nan, np.float32) for _ in range(2))
    visibility = np.full((count, LANDMARK_COUNT), np.nan, np.float32)
    tracklet_of = np.full(count, -1)
    unsteady = np.zeros(count, dtype=bool)
    for number, tracklet in enumerate(subject):
        unsteady |= _unsteady_frames(tracklet, time_s)
        first_s = tracklet.time_s[0] + (EDGE_S if number > 0 else 0.0)
        last_s = tracklet.time_s[-1] - (EDGE_S if number < len(subject) - 1 else 0.0)
        for at, pose in zip(tracklet.index, tracklet.poses, strict=True):
            if first_s <= time_s[at] <= last_s and not unsteady[at]:
                image[at], world[at], visibility[at] = pose.image, pose.world, pose.visibility
                tracklet_of[at] = number
    arrays = image, world, visibility
    exchanged, unclear = _put_sides_back(time_s, tracklet_of, arrays, size)
    interpolate_skipped(time_s, analysed, tracklet_of, arrays)
    return _Poses(arrays, unsteady, exchanged, unclear)


def _put_sides_back(
    time_s: FloatArray,
    tracklet_of: IntArray,
    arrays: tuple[SingleArray, SingleArray, SingleArray],
    size: tuple[int, int],
) -> tuple[BoolArray, bool]:
    """Put exchanged sides back in place; (n,) where, skipped frames beside them included, and
    whether the sides cannot be told apart, so that nothing was changed.
    """
    exchanged = np.zeros(len(time_s), dtype=bool)
    found = np.flatnonzero(tracklet_of >= 0)
    image, world, visibility = (values[found] for values in arrays)
    exchange = find_exchange(
        time_s[found], tracklet_of[found], image[:, :, :2] * size, world, visibility
    )
    if exchange.unclear or not exchange.exchanged.any():
        return exchanged, exchange.unclear
    exchanged[found[exchange.exchanged]] = True
    put_back(exchanged, *arrays)
    beside = np.interp(np.arange(len(time_s)), found, exchanged[found]) > 0
    return np.asarray(beside), False


def _unsteady_frames(tracklet: Tracklet, time_s: FloatArray) -> BoolArray:
    """(n,) frames around which, for about a second, the body jumps about as no person does."""
    step_s = float(np.median(np.diff(time_s)))
    around = max(3, round(UNSTEADY_OVER_S / step_s))
    within = slice(tracklet.index[0], tracklet.index[-1] + 1)
    jumps = hold_last(tracklet, unsteadiness(tracklet), len(time_s))
    unsteady = np.zeros(len(time_s), dtype=bool)
    unsteady[within] = median_filter(jumps[within], size=around, mode="nearest") > UNSTEADY
    return unsteady


def _unsteady_problems(time_s: FloatArray, unsteady: BoolArray) -> tuple[RecordingProblem, ...]:
    return tuple(
        RecordingProblem(ProblemCode.UNSTEADY, a, b) for a, b in stretches(time_s, unsteady, 0.0)
    )


def _bystander_problems(
    selection: SubjectSelection, time_s: FloatArray, bystanders: BoolArray
) -> tuple[RecordingProblem, ...]:
    """Who else was in view, when, and whom the sheet is about."""
    about = _side(selection) if bystanders.mean() > MOSTLY_TOGETHER else "largest"
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
