"""Clips whose landmarks are in the cache already, so that checking them takes no pose model."""

from dataclasses import asdict

from formcheck.clips.files import fingerprint
from formcheck.clips.types import DecodeReport
from formcheck.landmarks.bundles import find_bundle
from formcheck.landmarks.cache import LandmarkCache, cache_key
from formcheck.pipeline.settings import Settings
from tests.clips.maker import write_clip
from tests.clips.sounding import with_claps

RATE_HZ = 4


def write_known_clip(path, track, cache, *, claps_s=None):
    """A clip as long as the track, which is what formcheck will find in it with that cache folder.

    It has no sound, or that of a room in which somebody claps at these times.
    """
    times = [number / RATE_HZ for number in range(int(track.time_s[-1] * RATE_HZ) + 1)]
    write_clip(path, times, size=(track.width, track.height))
    if claps_s is not None:
        with_claps(path, claps_s, seed=len(times))
    report = DecodeReport(len(times), times[-1], float(RATE_HZ), False, 0, 0, False)
    key = cache_key(fingerprint(path), find_bundle("full").sha256, Settings().of_frames())
    LandmarkCache(cache).put(key, track, {"report": asdict(report), "problems": []})
    return path
