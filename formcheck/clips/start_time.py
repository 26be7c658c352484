"""When a clip was begun, by what the phone that recorded it wrote into the file."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

from formcheck.clips.decoder import open_container

EARLIEST_YEAR = 2005
"""Files that say they are older were made by a clock that was never set. A proposal."""
_APPLE_BEGIN = "com.apple.quicktime.creationdate"
_ANDROID, _ANDROID_END = "com.android.", "creation_time"
"""What tells that a phone wrote the file itself: a program that exports a clip states when it did so. Which
end of the recording is stated, from memory."""


def begun_at(path: Path) -> datetime | None:
    """When a local clip was begun by the clock of its phone, in UTC; None where no phone says.

    Raises ClipError as ``open_clip``.
    """
    with open_container(path) as container:
        said = dict(container.metadata)
        length = timedelta(microseconds=container.duration or 0)
    if _APPLE_BEGIN in said:
        return _moment(said[_APPLE_BEGIN])
    if any(name.startswith(_ANDROID) for name in said):
        ended = _moment(said.get(_ANDROID_END, ""))
        return None if ended is None else ended - length
    return None


def _moment(text: str) -> datetime | None:
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        return None
    at = at.replace(tzinfo=UTC) if at.tzinfo is None else at.astimezone(UTC)
    return at if at.year >= EARLIEST_YEAR else None
