"""Finding the clips of a batch: in a folder, by a pattern, or one by one."""

import glob
import os
import stat
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fnmatch import fnmatch
from pathlib import Path

from formcheck.clips.files import starts_like_a_clip
from formcheck.errors import UsageError
from formcheck.text import strip_control

CLIP_SUFFIXES = frozenset({
    ".3gp", ".avi", ".flv", ".gif", ".m2ts", ".m4v", ".mkv", ".mov",
    ".mp4", ".mpeg", ".mpg", ".mts", ".ogv", ".ts", ".webm", ".wmv",
})  # fmt: skip


@dataclass(frozen=True, slots=True)
class Clip:
    """A clip that was found: its resolved path (or URL on a cluster) and what people call it."""

    place: str
    shown: str


@dataclass(slots=True)
class Found:
    """Clips in order of their names, and one line for each file that was skipped for a reason."""

    clips: list[Clip] = field(default_factory=list)
    skipped: list[str] = field(default_factory=list)


def find_clips(source: str, out: Path) -> Found:
    """The clips of a folder (with the folders in it), of a pattern with ``*``, or the one named.

    Hidden files, other kinds of file and the results folder ``out`` are passed over. Links that
    lead out of the folder are not followed. Raises UsageError if there is no such place.
    """
    path = Path(source)
    if path.is_dir():
        root = path.resolve()
        return _sorted_out(root, _walk(root, out.resolve()))
    if path.is_file():
        return Found([Clip(str(path.resolve()), strip_control(path.name))])
    if not glob.has_magic(source):
        raise UsageError(f"{source}: there is no such file or folder; check its name")
    fixed = _fixed_part(path)
    root, pattern = fixed.resolve(), path.parts[len(fixed.parts) :]
    paths = _walk(root, out.resolve(), None if "**" in pattern else len(pattern))
    return _sorted_out(root, (p for p in paths if _matches(p.relative_to(root).parts, pattern)))


def inside(root: Path, path: Path) -> Path | None:
    """``path`` with its links followed, if that lies in ``root`` (resolved); None if it does not."""
    try:
        real = (root / path).resolve()
    except (OSError, ValueError, RuntimeError):
        return None
    return real if real.is_relative_to(root) else None


def _sorted_out(root: Path, paths: Iterator[Path]) -> Found:
    found = Found()
    seen: set[Path] = set()
    for path in sorted(paths):
        shown = strip_control(path.relative_to(root).as_posix())
        real = inside(root, path)
        if real is None:
            found.skipped.append(f"{shown}: is a link that leads out of the folder")
        elif real not in seen and _is_clip(real):
            seen.add(real)
            found.clips.append(Clip(str(real), shown))
    return found


def _walk(root: Path, out: Path, depth: int | None = None) -> Iterator[Path]:
    """Files below ``root``, down to so many levels; linked folders are not entered."""
    for folder, folders, files in os.walk(root):
        here = Path(folder)
        deep = depth is not None and len(here.relative_to(root).parts) + 1 >= depth
        folders[:] = [n for n in folders if not (deep or n.startswith(".") or here / n == out)]
        yield from (here / name for name in files if not name.startswith("."))


def _matches(parts: Sequence[str], pattern: Sequence[str]) -> bool:
    """Whether a path's parts fit a pattern's; ``**`` stands for any number of folders."""
    if not pattern:
        return not parts
    if pattern[0] == "**":
        return any(_matches(parts[skip:], pattern[1:]) for skip in range(len(parts) + 1))
    return bool(parts) and fnmatch(parts[0], pattern[0]) and _matches(parts[1:], pattern[1:])


def _fixed_part(pattern: Path) -> Path:
    """The folder before the first part with a wildcard."""
    parts: list[str] = []
    for part in pattern.parts:
        if glob.has_magic(part):
            break
        parts.append(part)
    return Path(*parts)


def _is_clip(path: Path) -> bool:
    """An ordinary file with a video's suffix, or without one and with a video's first bytes."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            return False
        suffix = path.suffix.lower()
        return suffix in CLIP_SUFFIXES or (not suffix and starts_like_a_clip(path))
    except (OSError, ValueError):
        return path.suffix.lower() in CLIP_SUFFIXES
