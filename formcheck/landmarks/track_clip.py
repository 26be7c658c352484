"""Frames in, the subject's landmark track out."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import median_filter

from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.clips.types import Frame
from formcheck.heap import hand_back
from formcheck.landmarks.between import carried, fill_between
from formcheck.landmarks.bundles import Bundle
from formcheck.landmarks.follow import Follower, Piece
from formcheck.landmarks.pace import Pace
from formcheck.landmarks.picture import PictureQuality
from formcheck.landmarks.subject import (
    UNSTEADY,
    Choice,
    choose_subject,
    moves,
    span_px,
    unsteadiness,
)
from formcheck.landmarks.track import (
    LANDMARK_COUNT,
    BoolArray,
    Company,
    FloatArray,
    LandmarkTrack,
    SingleArray,
)
from formcheck.landmarks.view import Sight, outside_picture, stretches, view_problems

EDGE_S = 0.15
"""Left out on both sides of a break: somebody else's arm is in front, or the model still settles.
A proposal."""


def track_frames(
    frames: Iterator[Frame],
    *,
    bundle: Bundle,
    width: int,
    height: int,
    every_frame: bool = False,
    on_progress: Callable[[float], None] | None = None,
) -> LandmarkTrack:
    """Follow everybody through the frames and give the subject's track.

    ``width`` and ``height`` are those of the upright full-size picture, in whose pixels the track
    is given; the frames may be smaller. Frames that are not worth a look by the pose model (see
    ``pace``) get their landmarks from the analysed ones around them, unless ``every_frame`` is
    asked for. ``on_progress`` is told the time of each frame.
    What is wrong with the recording is in the track's ``problems``.

    Raises
    ------
    ModelError
        If the pose model cannot be started or fails.
    """
    watched = _watch(frames, bundle, every_frame, on_progress)
    hand_back()
    time_s = watched.time_s
    choice = choose_subject(watched.pieces)
    image, world, visibility, unsteady = _arrays(choice.subject, time_s, watched.analysed)
    outside = outside_picture(image)
    visibility[outside] = 0.0
    sizes = [span_px(piece) for piece in choice.subject]
    company = np.zeros(len(time_s), dtype=bool)
    for piece in choice.others:
        company[piece.index[0] : piece.index[-1] + 1] = True
    found = np.isfinite(image[:, 0, 0])
    problems = view_problems(Sight(time_s, found, outside, company, max(sizes, default=0.0)))
    problems += watched.problems
    if not any(problem.fatal for problem in problems):
        problems += _unsteady_problems(time_s, unsteady)
        problems += _company_problems(choice, time_s, company) + _stillness(choice)
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
        skipped=np.flatnonzero(~watched.analysed),
        company=_company(watched.pieces, choice, (width, height)),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Watched:
    """What going through the frames gave: their times, which were analysed, and who was in view."""

    time_s: FloatArray
    analysed: BoolArray
    pieces: list[Piece]
    problems: tuple[RecordingProblem, ...]


def _watch(
    frames: Iterator[Frame],
    bundle: Bundle,
    every_frame: bool,
    on_progress: Callable[[float], None] | None,
) -> _Watched:
    quality, pace = PictureQuality(), Pace()
    times: list[float] = []
    analysed: list[int] = []
    with Follower(bundle) as follower:

        def look(due: list[tuple[int, Frame]]) -> None:
            for index, frame in due:
                follower.see(index, frame)
                quality.see(frame, follower.largest)
                analysed.append(index)

        for index, frame in enumerate(frames):
            times.append(frame.time_s)
            look([(index, frame)] if every_frame else pace.due(index, frame, follower.alone))
            if on_progress is not None:
                on_progress(frame.time_s)
        look(pace.rest())
    return _Watched(
        np.array(times),
        np.isin(np.arange(len(times)), analysed),
        follower.pieces,
        quality.problems(),
    )


def _company(pieces: list[Piece], choice: Choice, size: tuple[int, int]) -> Company:
    """Everybody who is not the subject, and what was too unsteady or too short to be sure of."""
    rows = [
        (time_s, pose.image[:, :2] * size)
        for piece in pieces
        if piece not in choice.subject
        for time_s, pose in zip(piece.time_s, piece.poses, strict=True)
    ]
    rows.sort(key=lambda row: row[0])
    if not rows:
        return Company()
    return Company(
        np.array([t for t, _ in rows]), np.array([points for _, points in rows], np.float32)
    )


def _arrays(
    subject: tuple[Piece, ...], time_s: FloatArray, analysed: BoolArray
) -> tuple[SingleArray, SingleArray, SingleArray, BoolArray]:
    """Image, world, visibility of all frames, NaN without a subject; and where it was unsteady."""
    count = len(time_s)
    image, world = (np.full((count, LANDMARK_COUNT, 3), np.nan, np.float32) for _ in range(2))
    visibility = np.full((count, LANDMARK_COUNT), np.nan, np.float32)
    whose = np.full(count, -1)
    unsteady = np.zeros(count, dtype=bool)
    for number, piece in enumerate(subject):
        unsteady |= _shaky(piece, time_s)
        first_s = piece.time_s[0] + (EDGE_S if number > 0 else 0.0)
        last_s = piece.time_s[-1] - (EDGE_S if number < len(subject) - 1 else 0.0)
        for at, pose in zip(piece.index, piece.poses, strict=True):
            if first_s <= time_s[at] <= last_s and not unsteady[at]:
                image[at], world[at], visibility[at] = pose.image, pose.world, pose.visibility
                whose[at] = number
    fill_between(time_s, analysed, whose, (image, world, visibility))
    return image, world, visibility, unsteady


def _shaky(piece: Piece, time_s: FloatArray) -> BoolArray:
    """(n,) frames where, for about a second, the body jumps about as no person does."""
    step_s = float(np.median(np.diff(time_s)))
    around = max(3, round(1.0 / step_s))
    within = slice(piece.index[0], piece.index[-1] + 1)
    jumps = carried(piece, unsteadiness(piece), len(time_s))
    shaky = np.zeros(len(time_s), dtype=bool)
    shaky[within] = median_filter(jumps[within], size=around, mode="nearest") > UNSTEADY
    return shaky


def _unsteady_problems(time_s: FloatArray, unsteady: BoolArray) -> tuple[RecordingProblem, ...]:
    return tuple(
        RecordingProblem(ProblemCode.UNSTEADY, a, b) for a, b in stretches(time_s, unsteady, 0.0)
    )


def _company_problems(
    choice: Choice, time_s: FloatArray, company: BoolArray
) -> tuple[RecordingProblem, ...]:
    """Who else was in view, when, and whom the sheet is about."""
    about = _side(choice) if company.mean() > 0.5 else "largest"
    return tuple(
        RecordingProblem(ProblemCode.SOMEBODY_ELSE_IN_VIEW, a, b, params={"about": about})
        for a, b in stretches(time_s, company, 0.0, bridge_s=2.0)
    )


def _side(choice: Choice) -> str:
    """Where the subject is, beside whoever else is in view."""
    own, other = (
        np.median([body.trunk[:, 0].mean() for piece in pieces for body in piece.bodies])
        for pieces in (choice.subject, choice.others)
    )
    return "left" if own < other else "right"


def _stillness(choice: Choice) -> tuple[RecordingProblem, ...]:
    if any(moves(piece) for piece in choice.subject):
        return ()
    return (RecordingProblem(ProblemCode.NOTHING_MOVES),)
