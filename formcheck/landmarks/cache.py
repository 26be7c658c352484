"""Landmarks seen before: the same clip, model and settings need not be looked at again.

The cache is a convenience. A damaged entry or a folder that cannot be written is a miss, never an
error. Entries are personal data: the folder is the user's own.
"""

import hashlib
import json
import os
import time
from collections.abc import Collection, Mapping
from contextlib import suppress
from datetime import timedelta
from pathlib import Path
from typing import Any

from platformdirs import user_cache_path

from formcheck.errors import OutputError
from formcheck.landmarks.store import load_track, save_track, stored_extra
from formcheck.landmarks.track import LandmarkTrack
from formcheck.scratch import scratch_folder

FOLDER_VARIABLE = "FORMCHECK_CACHE_DIR"
CLIP = "clip_sha256"
"""Key of what is stored beside a track that says of which clip it is."""
LANDMARKS_VERSION = 5
"""Raised whenever the same frames would give another track, so that old entries are missed.
Mechanical."""


def cache_key(
    clip_sha256: str,
    model_sha256: str,
    settings: Mapping[str, object],
    version: int = LANDMARKS_VERSION,
) -> str:
    """Name of the entry for a clip's content, a model's content and whatever shapes the frames."""
    parts = [version, clip_sha256, model_sha256, sorted(settings.items())]
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()


class LandmarkCache:
    """A folder of stored tracks: ``FORMCHECK_CACHE_DIR``, or the platform's cache folder."""

    def __init__(self, folder: Path | None = None) -> None:
        moved = os.environ.get(FOLDER_VARIABLE)
        self.folder = folder or (Path(moved) if moved else user_cache_path("formcheck"))

    def get(self, key: str) -> tuple[LandmarkTrack, dict[str, Any]] | None:
        """The stored track with what was stored beside it; None if there is none that is whole."""
        try:
            return load_track(self._path(key))
        except (OSError, ValueError):
            return None

    def put(self, key: str, track: LandmarkTrack, extra: dict[str, Any]) -> None:
        """Store a track, and ``extra`` (anything JSON can hold), if the folder lets it."""
        with suppress(OSError):
            self._make_folder()
            save_track(self._path(key), track, extra)

    def entries_of(self, clip_sha256s: Collection[str], keys: Collection[str]) -> list[Path]:
        """The entries of these clips, or under these keys, for entries that do not say of which
        clip they are.
        """
        return [
            path
            for path in self._entries()
            if path.stem in keys or stored_extra(path).get(CLIP) in clip_sha256s
        ]

    def drop_older(self, than: timedelta) -> int:
        """Remove the entries that were made longer ago; how many they were."""
        last = time.time() - than.total_seconds()
        dropped = 0
        for path in self._entries():
            with suppress(OSError):
                if path.stat().st_mtime < last:
                    path.unlink()
                    dropped += 1
        return dropped

    def _entries(self) -> list[Path]:
        return sorted(self.folder.glob("*.npz"))

    def check_writable(self) -> str:
        """The folder, once it is seen that files can be written there.

        What a killed run left half-written in it is removed on the way.

        Raises
        ------
        OutputError
            If they cannot; formcheck works all the same, without remembering landmarks.
        """
        try:
            self._make_folder()
            with scratch_folder(self.folder):
                pass
        except OSError as error:
            raise OutputError(
                f"The cache folder {self.folder} cannot be written ({error.strerror}). Landmarks "
                f"will be found anew each time; set {FOLDER_VARIABLE} to a folder of your own."
            ) from error
        return str(self.folder)

    def _make_folder(self) -> None:
        self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)

    def _path(self, key: str) -> Path:
        return self.folder / f"{key}.npz"
