"""A clip's landmarks and measures, before anything is asked of them."""

from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from formcheck.catalogue.problems import Problem
from formcheck.clips.reader import open_clip
from formcheck.clips.types import ClipInfo, ClipLimits, DecodeReport
from formcheck.heap import hand_back
from formcheck.landmarks.bundles import find_bundle
from formcheck.landmarks.cache import LandmarkCache, cache_key
from formcheck.landmarks.track import LandmarkTrack
from formcheck.measures.measure import measure_track
from formcheck.measures.table import MeasureTable
from formcheck.pipeline.settings import Progress, Settings


@dataclass(frozen=True, slots=True, eq=False)
class Tracked:
    """A clip's landmarks with the facts of its recording."""

    info: ClipInfo
    report: DecodeReport
    decode_problems: tuple[Problem, ...]
    track: LandmarkTrack

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Everything to know about the recording."""
        return self.decode_problems + self.track.problems


def track_clip(
    path: Path,
    settings: Settings,
    on_progress: Progress | None = None,
    *,
    limits: ClipLimits | None = None,
) -> Tracked:
    """Landmarks of a clip, from the cache where the same content was seen with the same settings.

    Raises ClipError if the clip cannot be read or is beyond ``limits``, and ModelError if the model
    bundle is not whole.
    """
    bundle = find_bundle(settings.model)
    with open_clip(path, mirrored=settings.mirrored, speed=settings.speed, limits=limits) as reader:
        cache = LandmarkCache() if settings.use_cache else None
        key = cache_key(reader.info.sha256, bundle.sha256, settings.of_frames())
        known = cache.get(key) if cache else None
        if known is not None:
            track, extra = known
            return Tracked(reader.info, *_recording_from(extra), track)
        # The pose library takes a second to load, which a clip seen before does not need.
        from formcheck.landmarks.track_clip import track_frames  # noqa: PLC0415

        track = track_frames(
            reader.frames(max_side_px=settings.max_side_px, rate_hz=settings.rate_hz),
            bundle=bundle,
            width=reader.info.width,
            height=reader.info.height,
            every_frame=settings.every_frame,
            on_progress=_share_of(reader.info.stated_duration_s, on_progress),
        )
        if cache is not None:
            problems = [asdict(problem) for problem in reader.problems]
            cache.put(key, track, {"report": asdict(reader.report), "problems": problems})
        return Tracked(reader.info, reader.report, reader.problems, track)


def _recording_from(extra: dict[str, Any]) -> tuple[DecodeReport, tuple[Problem, ...]]:
    """What the clips room said of the recording when its landmarks were found."""
    return DecodeReport(**extra["report"]), tuple(Problem(**one) for one in extra["problems"])


def _share_of(
    duration_s: float | None, on_progress: Progress | None
) -> Callable[[float], None] | None:
    """Turn the time reached into the share done, where the clip says how long it is."""
    if on_progress is None or not duration_s:
        return None
    return lambda time_s: on_progress(min(time_s / duration_s, 1.0))


def measure_clip(
    path: Path,
    settings: Settings,
    on_progress: Progress | None = None,
    *,
    limits: ClipLimits | None = None,
) -> tuple[Tracked, MeasureTable]:
    """Landmarks and measures of a clip; no exercise needed. Raises as ``track_clip``."""
    tracked = track_clip(path, settings, on_progress, limits=limits)
    hand_back()
    table = measure_track(tracked.track, stature_m=settings.stature_m)
    hand_back()
    return tracked, table
