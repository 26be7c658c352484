"""A clip's landmarks and measures, before anything is asked of them."""

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, fields
from math import isfinite
from pathlib import Path
from typing import Any

from formcheck.catalogue.problems import RecordingProblem, restored
from formcheck.clips.reader import open_clip
from formcheck.clips.types import ClipInfo, ClipLimits, DecodeReport
from formcheck.heap import hand_back
from formcheck.landmarks.bundles import find_bundle
from formcheck.landmarks.cache import CLIP, LandmarkCache, cache_key
from formcheck.landmarks.track import LandmarkTrack
from formcheck.measures.measure import measure_track
from formcheck.measures.table import MeasureTable
from formcheck.pipeline.settings import Progress, Settings


@dataclass(frozen=True, slots=True, eq=False)
class Tracked:
    """A clip's landmarks with the facts of its recording."""

    info: ClipInfo
    report: DecodeReport
    decode_problems: tuple[RecordingProblem, ...]
    track: LandmarkTrack

    @property
    def problems(self) -> tuple[RecordingProblem, ...]:
        """Everything to know about the recording."""
        return self.decode_problems + self.track.problems


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """A clip's landmarks and its measures over time."""

    tracked: Tracked
    table: MeasureTable

    @property
    def problems(self) -> tuple[RecordingProblem, ...]:
        """Everything to know about the recording and what could be measured of it."""
        return self.tracked.problems + self.table.problems

    @property
    def fatal_problem(self) -> RecordingProblem | None:
        """The first of the problems that leave nothing to judge; None if the clip will do."""
        return next((problem for problem in self.problems if problem.fatal), None)


def track_clip(
    clip: str | Path,
    settings: Settings | None = None,
    on_progress: Progress | None = None,
    *,
    limits: ClipLimits | None = None,
) -> Tracked:
    """Landmarks of a clip, from the cache where the same content was seen with the same settings.

    Raises ClipError if the clip cannot be read or is beyond ``limits``, and ModelError if the model
    bundle is not whole.
    """
    settings = settings or Settings()
    bundle = find_bundle(settings.model)
    with open_clip(
        Path(clip), mirrored=settings.mirrored, speed=settings.speed, limits=limits
    ) as reader:
        cache = LandmarkCache() if settings.use_cache else None
        key = cache_key(reader.info.sha256, bundle.sha256, settings.of_frames())
        known = _known(cache, key, reader.info) if cache else None
        if known is not None:
            return known
        # The pose library takes a second to load, which a clip seen before does not need.
        from formcheck.landmarks.track_clip import track_frames  # noqa: PLC0415

        track = track_frames(
            reader.frames(max_side_px=settings.max_side_px, rate_hz=settings.rate_hz),
            bundle=bundle,
            width=reader.info.width,
            height=reader.info.height,
            every_frame=settings.every_frame,
            person=settings.person,
            on_progress=_share_of(reader.info.stated_duration_s, on_progress),
        )
        if cache is not None:
            problems = [asdict(problem) for problem in reader.problems]
            found = {"report": asdict(reader.report), "problems": problems}
            cache.put(key, track, found | {CLIP: reader.info.sha256})
        return Tracked(reader.info, reader.report, reader.problems, track)


def _known(cache: LandmarkCache, key: str, info: ClipInfo) -> Tracked | None:
    """What the cache holds of a clip; None if that is nothing, or nothing that this release can use."""
    found = cache.get(key)
    if found is None:
        return None
    track, extra = found
    try:
        report, problems = _report_from(extra["report"]), tuple(map(restored, extra["problems"]))
    except (KeyError, TypeError, ValueError):
        return None
    if (track.width, track.height) != (info.width, info.height):
        return None
    return Tracked(info, report, problems, track)


def _report_from(stored: dict[str, Any]) -> DecodeReport:
    report = DecodeReport(**stored)
    for field in fields(DecodeReport):
        if type(stored[field.name]) not in _KINDS[field.type]:
            raise ValueError(f"{field.name} is {stored[field.name]!r}")
    if report.frames < 1 or not isfinite(report.duration_s + report.mean_rate_hz):
        raise ValueError("the clip has no length")
    return report


_KINDS: Mapping[Any, tuple[type, ...]] = {bool: (bool,), int: (int,), float: (int, float)}
"""What JSON makes of the types of a report."""


def _share_of(
    duration_s: float | None, on_progress: Progress | None
) -> Callable[[float], None] | None:
    """Turn the time reached into the share done, where the clip says how long it is."""
    if on_progress is None or not duration_s:
        return None
    return lambda time_s: on_progress(min(time_s / duration_s, 1.0))


def measure_clip(
    clip: str | Path,
    settings: Settings | None = None,
    on_progress: Progress | None = None,
    *,
    limits: ClipLimits | None = None,
) -> Measured:
    """Every measure of a clip over time; no exercise needed.

    Parameters
    ----------
    clip
        The path of a recorded clip.
    settings
        How it is looked at; as usual if left out.
    on_progress
        Is told the share of the work that is done, 0-1.
    limits
        The most that the clip may be.

    Raises
    ------
    ClipError
        The clip cannot be read, or is beyond ``limits``.
    ModelError
        The pose model is missing or damaged.
    """
    settings = settings or Settings()
    tracked = track_clip(clip, settings, on_progress, limits=limits)
    hand_back()
    table = measure_track(tracked.track, stature_m=settings.stature_m)
    hand_back()
    return Measured(tracked, table)
