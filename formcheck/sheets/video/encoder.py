"""Writing video: H.264 in MP4 that plays everywhere, every frame at its own time."""

from collections.abc import Iterable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Self

import av
import numpy as np
from av.container import OutputContainer

from formcheck.clips.sound import SOUND_LAYOUT, SOUND_RATE_HZ, Samples
from formcheck.sheets.video.anonymise import Picture

_CLOCK_HZ = 90_000
_BT709 = 1
_SOUND_FRAME = 1024  # samples that AAC takes at a time
_SOUND_BITS_A_SECOND = 128_000


class ClipWriter:
    """An MP4 file under construction; use it as a context manager.

    Frames come in order with their own times in seconds; the first one fixes the size. yuv420p with
    the index in front, so that it starts at once in a browser; a key frame at least each second, so
    that seeking is quick. Nothing of the source's own data is carried over. ``sound``, if any, is
    that of ``read_sound``: it goes along as AAC, no further than the last picture.
    """

    def __init__(self, path: Path, sound: Iterable[Samples] = ()) -> None:
        options = {"movflags": "+faststart"}
        self._container = av.open(str(path), "w", format="mp4", options=options)
        self._stream: av.VideoStream | None = None
        self._last_pts = -1
        self._sound = iter(sound)
        self._track: _SoundTrack | None = None

    def add(self, time_s: float, image: Picture) -> None:
        """Append a picture, (h, w, 3) uint8 RGB; an odd last row or column is left out."""
        height, width = (side // 2 * 2 for side in image.shape[:2])
        if self._stream is None:
            self._stream = self._open_stream(width, height)
            self._track = _SoundTrack.begun(self._container, self._sound)
        even = np.ascontiguousarray(image[:height, :width])
        frame = av.VideoFrame.from_ndarray(even, format="rgb24")
        frame = frame.reformat(format="yuv420p", dst_colorspace="ITU709")
        frame.time_base = Fraction(1, _CLOCK_HZ)
        frame.pts = max(round(time_s * _CLOCK_HZ), self._last_pts + 1)
        self._last_pts = frame.pts
        self._container.mux(self._stream.encode(frame))
        if self._track is not None:
            self._track.go_on_to(frame.pts / _CLOCK_HZ)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *error: object) -> None:
        if error[0] is None and self._stream is not None:
            self._container.mux(self._stream.encode(None))
            if self._track is not None:
                self._track.end()
        self._container.close()

    def _open_stream(self, width: int, height: int) -> av.VideoStream:
        # No B-frames: presentation and decoding times agree and the first frame is at its own time.
        options = {"crf": "24", "preset": "veryfast", "x264-params": "bframes=0:keyint=30"}
        stream = self._container.add_stream("libx264", rate=30, options=options)
        stream.width, stream.height, stream.pix_fmt = width, height, "yuv420p"
        context = stream.codec_context
        context.time_base = stream.time_base = Fraction(1, _CLOCK_HZ)
        context.colorspace = context.color_primaries = context.color_trc = _BT709
        return stream


class _SoundTrack:
    """The sound beside the pictures of a file under construction."""

    def __init__(self, container: OutputContainer, first: Samples, rest: Iterator[Samples]) -> None:
        self._container = container
        self._stream = container.add_stream("aac", rate=SOUND_RATE_HZ, layout=SOUND_LAYOUT)
        self._stream.bit_rate = _SOUND_BITS_A_SECOND
        self._waiting = first
        self._rest = rest
        self._done = 0

    @classmethod
    def begun(cls, container: OutputContainer, sound: Iterator[Samples]) -> "_SoundTrack | None":
        """A track where there is any sound; tracks must be known before the first is written."""
        first = next(sound, None)
        return None if first is None else cls(container, first, sound)

    def go_on_to(self, time_s: float) -> None:
        """Write the sound up to a time, or to its end."""
        while self._done < round(time_s * SOUND_RATE_HZ):
            while self._waiting.shape[1] < _SOUND_FRAME:
                more = next(self._rest, None)
                if more is None:
                    return
                self._waiting = np.concatenate([self._waiting, more], axis=1)
            self._write(self._waiting[:, :_SOUND_FRAME])
            self._waiting = self._waiting[:, _SOUND_FRAME:]

    def end(self) -> None:
        """Get the last of it out of the encoder."""
        self._container.mux(self._stream.encode(None))

    def _write(self, samples: Samples) -> None:
        whole = np.ascontiguousarray(samples)
        frame = av.AudioFrame.from_ndarray(whole, format="fltp", layout=SOUND_LAYOUT)
        frame.rate, frame.pts = SOUND_RATE_HZ, self._done
        frame.time_base = Fraction(1, SOUND_RATE_HZ)
        self._container.mux(self._stream.encode(frame))
        self._done += samples.shape[1]
