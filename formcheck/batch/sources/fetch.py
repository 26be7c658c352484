"""Clips that lie behind a URL."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath

from formcheck.batch.job import Limits
from formcheck.batch.sources.source import CLIP_SUFFIXES, Clip, Found
from formcheck.errors import ClipError, UsageError
from formcheck.result_folder import safe_name
from formcheck.scratch import scratch_folder
from formcheck.text import strip_control

_PIECE_BYTES = 2**20
"""Bytes fetched at a time. Mechanical."""


def find_remote_clips(url: str) -> Found:
    """The clips below a URL that fsspec knows, in order of their names. Raises UsageError."""
    import fsspec  # noqa: PLC0415 - part of the extra

    try:
        files, root = fsspec.url_to_fs(url)
        paths = sorted(files.find(root))
    except Exception as error:  # each kind of storage has errors of its own
        raise UsageError(f"{url}: cannot be listed: {error}") from error
    found = Found()
    for path in paths:
        shown = PurePosixPath(path[len(root) :].lstrip("/") or PurePosixPath(path).name)
        if shown.suffix.lower() in CLIP_SUFFIXES and not any(p[0] == "." for p in shown.parts):
            found.clips.append(Clip(files.unstrip_protocol(path), strip_control(str(shown))))
    return found


@contextmanager
def fetched(url: str, shown: str, limits: Limits) -> Iterator[Path]:
    """A local copy of a clip for the length of the block. Raises ClipError."""
    import fsspec  # noqa: PLC0415 - part of the extra

    name = PurePosixPath(shown)
    with scratch_folder() as folder:
        path = folder / (safe_name(name.stem) + name.suffix)
        left = limits.decoded_gb * 1e9  # a clip is never larger than its pictures
        try:
            with fsspec.open(url, "rb") as source, path.open("wb") as copy:
                while piece := source.read(_PIECE_BYTES):
                    left -= len(piece)
                    if left < 0:
                        raise ClipError(f"{shown}: is larger than --max-decoded-gb")
                    copy.write(piece)
        except ClipError:
            raise
        except Exception as error:  # each kind of storage has errors of its own
            raise ClipError(f"{shown}: cannot be fetched: {error}") from error
        yield path
