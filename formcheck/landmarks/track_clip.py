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
from formcheck.landmarks.track import LANDMARK_COUNT, Company, FloatArray, LandmarkTrack
from formcheck.landmarks.view import Sight, clock, outside_picture, stretches, view_problems
from formcheck.quality import Problem

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
    company = np.zeros(len(time_s), dtype=bool)
    for piece in choice.others:
        company[piece.index] = True
    found = np.isfinite(image[:, 0, 0])
    problems = view_problems(Sight(time_s, found, outside, company, max(sizes, default=0.0)))
    problems += quality.problems()
    if not any(problem.fatal for problem in problems):
        problems += _unsteady_problems(time_s, unsteady)
        problems += _company_problems(choice, time_s, company) + _stillness(choice)
    return LandmarkTrack(
        time_s=time_s,
        image_px=_single(image * (width, height, width)),
        world_m=_single(world),
        visibility=_single(visibility),
        width=width,
        height=height,
        model=bundle.name,
        model_sha256=bundle.sha256,
        problems=problems,
        company=_company(follower.pieces, choice, (width, height)),
    )


def _single(values: FloatArray) -> FloatArray:
    """Single precision, as in a stored track: the cache changes no result."""
    return values.astype(np.float32).astype(np.float64)


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
        np.array([t for t, _ in rows]), _single(np.array([points for _, points in rows]))
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


def _company_problems(
    choice: Choice, time_s: FloatArray, company: NDArray[np.bool_]
) -> tuple[Problem, ...]:
    """Who else was in view, when, and whom the sheet is about."""
    about = "whoever is largest and in view longest"
    if company.mean() > 0.5:
        about = f"the person on the {_side(choice)} of the picture"
    return tuple(
        Problem(
            "somebody-else-in-view",
            f"Somebody else, or a mirror image, was in view from {clock(a)} to {clock(b)}. "
            f"The sheet is about {about}. Film alone if you can.",
            a,
            b,
        )
        for a, b in stretches(time_s, company, 0.0, bridge_s=2.0)
    )


def _side(choice: Choice) -> str:
    """Where the subject is, beside whoever else is in view."""
    own, other = (
        np.median([body.trunk[:, 0].mean() for piece in pieces for body in piece.bodies])
        for pieces in (choice.subject, choice.others)
    )
    return "left" if own < other else "right"


def _stillness(choice: Choice) -> tuple[Problem, ...]:
    if any(moves(piece) for piece in choice.subject):
        return ()
    message = "Whoever is in the picture never moves. Is this the right clip?"
    return (Problem("nothing-moves", message),)
