"""Frames in, the subject's landmark track out."""

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter

from formcheck.clips.types import Frame
from formcheck.landmarks.bundles import Bundle
from formcheck.landmarks.follow import Follower, Piece
from formcheck.landmarks.picture import PictureQuality
from formcheck.landmarks.subject import (
    UNSTEADY,
    Choice,
    choose_subject,
    moves,
    span_px,
    unsteadiness,
)
from formcheck.landmarks.track import LANDMARK_COUNT, FloatArray, LandmarkTrack
from formcheck.landmarks.view import Sight, clock, outside_picture, stretches, view_problems
from formcheck.quality import Problem

MAX_SIDE_PX = 640
"""Longer side of the frames to analyse. Joint positions and angles are as good as from frames of
1280 pixels to within 0.3 degrees; at 360 the elbow is 0.5 degrees worse."""
EDGE_S = 0.15
"""Left out on both sides of a break: somebody else's arm is in front, or the model still settles."""


def track_frames(
    frames: Iterator[Frame],
    *,
    bundle: Bundle,
    width: int,
    height: int,
    on_progress: Callable[[float], None] | None = None,
) -> LandmarkTrack:
    """Follow everybody through the frames and give the subject's track.

    ``width`` and ``height`` are those of the upright full-size picture, in whose pixels the track
    is given; the frames may be smaller. ``on_progress`` is told the time of each analysed frame.
    What is wrong with the recording is in the track's ``problems``.

    Raises
    ------
    ModelError
        If the pose model cannot be started or fails.
    """
    quality = PictureQuality()
    times: list[float] = []
    with Follower(bundle) as follower:
        for index, frame in enumerate(frames):
            follower.see(index, frame)
            quality.see(frame, follower.largest)
            times.append(frame.time_s)
            if on_progress is not None:
                on_progress(frame.time_s)
    time_s = np.array(times)
    choice = choose_subject(follower.pieces)
    image, world, visibility, unsteady = _arrays(choice.subject, len(time_s))
    outside = outside_picture(image)
    visibility[outside] = 0.0
    sizes = [span_px(piece) for piece in choice.subject]
    sight = Sight(time_s, np.isfinite(image[:, 0, 0]), outside, max(sizes, default=0.0))
    return LandmarkTrack(
        time_s=time_s,
        image_px=image * (width, height, width),
        world_m=world,
        visibility=visibility,
        width=width,
        height=height,
        model=bundle.name,
        model_sha256=bundle.sha256,
        problems=view_problems(sight)
        + quality.problems()
        + _unsteady_problems(time_s, unsteady)
        + _company_problems(choice, time_s),
    )


def _arrays(
    subject: tuple[Piece, ...], count: int
) -> tuple[FloatArray, FloatArray, FloatArray, NDArray[np.bool_]]:
    """Image, world, visibility of all frames, NaN without a subject; and where it was unsteady."""
    image = np.full((count, LANDMARK_COUNT, 3), np.nan)
    world = np.full((count, LANDMARK_COUNT, 3), np.nan)
    visibility = np.full((count, LANDMARK_COUNT), np.nan)
    unsteady = np.zeros(count, dtype=bool)
    for number, piece in enumerate(subject):
        shaky = _shaky(piece)
        first_s = piece.time_s[0] + (EDGE_S if number > 0 else 0.0)
        last_s = piece.time_s[-1] - (EDGE_S if number < len(subject) - 1 else 0.0)
        for at, time_s, pose, bad in zip(
            piece.index, piece.time_s, piece.poses, shaky, strict=True
        ):
            unsteady[at] = bad
            if first_s <= time_s <= last_s and not bad:
                image[at], world[at], visibility[at] = pose.image, pose.world, pose.visibility
    return image, world, visibility, unsteady


def _shaky(piece: Piece) -> NDArray[np.bool_]:
    """(n,) where, for about a second, the body jumps about as no person does."""
    step_s = float(np.median(np.diff(piece.time_s)))
    around = max(3, round(1.0 / step_s))
    return np.asarray(median_filter(unsteadiness(piece), size=around, mode="nearest") > UNSTEADY)


def _unsteady_problems(time_s: FloatArray, unsteady: NDArray[np.bool_]) -> tuple[Problem, ...]:
    return tuple(
        Problem(
            "unsteady",
            f"From {clock(a)} to {clock(b)} the body could not be followed steadily; this part is "
            "left out. A clear view from the front or square from the side works best.",
            a,
            b,
        )
        for a, b in stretches(time_s, unsteady, 0.0)
    )


def _company_problems(choice: Choice, time_s: FloatArray) -> tuple[Problem, ...]:
    """Who else was in view and when; and a subject that never moves."""
    there = np.zeros(len(time_s), dtype=bool)
    for piece in choice.others:
        there[piece.index] = True
    found = [
        Problem(
            "somebody-else-in-view",
            f"Somebody else, or a mirror image, was in view from {clock(a)} to {clock(b)}. "
            f"The sheet is about the larger person{_side(choice)}. Film alone if you can.",
            a,
            b,
        )
        for a, b in stretches(time_s, there, 0.0, bridge_s=2.0)
    ]
    if choice.subject and not any(moves(piece) for piece in choice.subject):
        message = "Whoever is in the picture never moves. Is the right clip chosen?"
        found.append(Problem("nothing-moves", message))
    return tuple(found)


def _side(choice: Choice) -> str:
    """Where the subject is, beside whoever else is in view."""
    own = np.median([body.trunk[:, 0].mean() for p in choice.subject for body in p.bodies])
    other = np.median([body.trunk[:, 0].mean() for p in choice.others for body in p.bodies])
    return " on the left of the picture" if own < other else " on the right of the picture"
