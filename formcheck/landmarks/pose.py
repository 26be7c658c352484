"""The pose model: one picture in, the people in it out. The only module that knows mediapipe."""

import os
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import IO, Any, Literal, Self

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.arrays import SingleArray
from formcheck.errors import ModelError
from formcheck.landmarks.bundles import Bundle


@contextmanager
def _absent(module: str) -> Iterator[None]:
    """For the length of the block, importing that module fails as if it was not installed."""
    hidden = module not in sys.modules
    if hidden:
        sys.modules[module] = None  # type: ignore[assignment]  # Python's own way to say so
    try:
        yield
    finally:
        if hidden:
            del sys.modules[module]


# The library can also record sound, which looks for a sound driver with the help of a compiler and
# a linker; it goes on without. Nothing that reads health data should start programs unasked.
with _absent("sounddevice"):
    import mediapipe as mp
    from mediapipe.tasks.python import BaseOptions, vision


@dataclass(frozen=True, slots=True, eq=False)
class Pose:
    """One person in one picture, as the model gives it.

    image       (33, 3)  x right, y down as shares of picture width and height; z as a share of
                         the width, toward the scene
    world       (33, 3)  metres, origin between the hips
    visibility  (33,)    0-1: seen, and inside the picture (the lower of the model's two beliefs)
    """

    image: SingleArray
    world: SingleArray
    visibility: SingleArray


class PoseModel:
    """A pose landmarker, open between ``with`` and the end of the block.

    In mode ``track`` it keeps to one person from picture to picture and needs rising times: one model
    for each person and clip. In mode ``detect`` it takes every picture afresh and finds up to four.
    Not for use by two threads at once; a process runs one landmarker on one core.
    """

    def __init__(self, bundle: Bundle, mode: Literal["track", "detect"]) -> None:
        self._bundle = bundle
        self._tracks = mode == "track"
        self._landmarker: Any = None
        self._stderr = StderrCapture()
        self._settled = False
        self._last_ms = -1

    def __enter__(self) -> Self:
        running = vision.RunningMode.VIDEO if self._tracks else vision.RunningMode.IMAGE
        try:
            with self._stderr.capturing():
                self._landmarker = vision.PoseLandmarker.create_from_options(
                    vision.PoseLandmarkerOptions(
                        base_options=BaseOptions(model_asset_path=str(self._bundle.path)),
                        running_mode=running,
                        num_poses=1 if self._tracks else 4,
                    )
                )
        except (RuntimeError, ValueError, OSError) as error:
            failure = self._failure("cannot be started", error)
            self._stderr.close()
            raise failure from error
        return self

    def __exit__(self, *error: object) -> None:
        with self._stderr.capturing():
            self._landmarker.close()
        self._stderr.close()

    def people(self, image: NDArray[np.uint8], time_s: float = 0.0) -> list[Pose]:
        """The people in an RGB picture (height, width, 3); one at most when tracking.

        ``time_s`` matters only when tracking. It is handed on in whole milliseconds, nudged where
        two pictures are closer than that.

        Raises
        ------
        ModelError
            If the model fails, with what it wrote about it.
        """
        picture = mp.Image(
            image_format=mp.ImageFormat.SRGB,
            data=np.ascontiguousarray(image),  # other layouts are misread without an error
        )
        try:
            if self._settled:
                return self._run(picture, time_s)
            # The graph writes its notes until its last part has run, on the first person found.
            with self._stderr.capturing():
                found = self._run(picture, time_s)
        except (RuntimeError, ValueError) as error:
            raise self._failure(f"failed at {time_s:.2f} s", error) from error
        self._settled = bool(found)
        return found

    def _run(self, picture: mp.Image, time_s: float) -> list[Pose]:
        if self._tracks:
            self._last_ms = max(self._last_ms + 1, round(time_s * 1000))
            result = self._landmarker.detect_for_video(picture, self._last_ms)
        else:
            result = self._landmarker.detect(picture)
        return [
            _pose(image, world)
            for image, world in zip(result.pose_landmarks, result.pose_world_landmarks, strict=True)
        ]

    def _failure(self, what: str, error: Exception) -> ModelError:
        notes = f" Its own notes: {self._stderr.text[-800:]}" if self._stderr.text else ""
        return ModelError(
            f"The pose model {self._bundle.path} {what}: {error}. "
            f"Run 'formcheck doctor' to check the installation.{notes}"
        )


def _pose(image: list[Any], world: list[Any]) -> Pose:
    return Pose(
        image=np.array([(mark.x, mark.y, mark.z) for mark in image], dtype=np.float32),
        world=np.array([(mark.x, mark.y, mark.z) for mark in world], dtype=np.float32),
        visibility=np.array(
            [min(mark.visibility, mark.presence) for mark in image], dtype=np.float32
        ),
    )


class StderrCapture:
    """Captures what native code writes to standard error, instead of showing it.

    The file descriptor belongs to the whole process, so only one model at a time may redirect it.
    """

    _lock = threading.RLock()

    def __init__(self) -> None:
        self._file: IO[bytes] | None = None

    @property
    def text(self) -> str:
        """All that was captured so far."""
        if self._file is None:
            return ""
        self._file.seek(0)
        return self._file.read().decode(errors="replace").strip()

    @contextmanager
    def capturing(self) -> Iterator[None]:
        """Redirect file descriptor 2 to a temporary file for the length of the block."""
        with self._lock:
            if sys.stderr is not None:
                sys.stderr.flush()
            screen = _duplicate_of_stderr()
            if self._file is None:
                self._file = tempfile.TemporaryFile()  # noqa: SIM115  closed by close()
            try:
                os.dup2(self._file.fileno(), 2)
                yield
            finally:
                if screen is not None:
                    os.dup2(screen, 2)
                    os.close(screen)
                elif self._file.fileno() != 2:
                    os.close(2)

    def close(self) -> None:
        """Forget the text and give the file back."""
        if self._file is not None:
            self._file.close()


def _duplicate_of_stderr() -> int | None:
    try:
        return os.dup(2)
    except OSError:  # closed by whoever started the program
        return None
