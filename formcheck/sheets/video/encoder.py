"""Writing video: H.264 in MP4, which plays everywhere, with every frame at its own time."""

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
"""Ticks a second in which times are written, usual for MPEG. Mechanical."""
_BT709 = 1
"""The code of the colour space. Published: ITU-T H.273, table 2."""
_AAC_FRAME_SAMPLES = 1024
"""Samples that AAC encodes at a time. Mechanical."""
_SOUND_BITS_PER_S = 128_000
"""Mechanical."""


class ClipWriter:
    """An MP4 file under construction; use it as a context manager.

    Frames come in order with their own times in seconds; the first one fixes the size. Pixels are
    yuv420p and the index stands in front, so that browsers start at once; there is a key frame at
    least every second, so that seeking is quick. None of the source's own data are carried over.
    ``sound``, if any, is that of ``read_sound``; it is written as AAC, up to the last picture.
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
            self._track = _SoundTrack.start(self._container, self._sound)
        even = np.ascontiguousarray(image[:height, :width])
        frame = av.VideoFrame.from_ndarray(even, format="rgb24")
        frame = frame.reformat(format="yuv420p", dst_colorspace="ITU709")
        frame.time_base = Fraction(1, _CLOCK_HZ)
        frame.pts = max(round(time_s * _CLOCK_HZ), self._last_pts + 1)
        self._last_pts = frame.pts
        self._container.mux(self._stream.encode(frame))
        if self._track is not None:
            self._track.write_until(frame.pts / _CLOCK_HZ)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *error: object) -> None:
        if error[0] is None and self._stream is not None:
            self._container.mux(self._stream.encode(None))
            if self._track is not None:
                self._track.finish()
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

    def __init__(
        self, container: OutputContainer, first: Samples, remaining: Iterator[Samples]
    ) -> None:
        self._container = container
        self._stream = container.add_stream("aac", rate=SOUND_RATE_HZ, layout=SOUND_LAYOUT)
        self._stream.bit_rate = _SOUND_BITS_PER_S
        self._buffer = first
        self._remaining = remaining
        self._written = 0

    @classmethod
    def start(cls, container: OutputContainer, sound: Iterator[Samples]) -> "_SoundTrack | None":
        """A track, if there is any sound: the container must know its tracks before the first packet."""
        first = next(sound, None)
        return None if first is None else cls(container, first, sound)

    def write_until(self, time_s: float) -> None:
        """Write the sound up to a time, or all of it if it ends before."""
        while self._written < round(time_s * SOUND_RATE_HZ):
            while self._buffer.shape[1] < _AAC_FRAME_SAMPLES:
                more = next(self._remaining, None)
                if more is None:
                    return
                self._buffer = np.concatenate([self._buffer, more], axis=1)
            self._write(self._buffer[:, :_AAC_FRAME_SAMPLES])
            self._buffer = self._buffer[:, _AAC_FRAME_SAMPLES:]

    def finish(self) -> None:
        """Flush the encoder."""
        self._container.mux(self._stream.encode(None))

    def _write(self, samples: Samples) -> None:
        whole = np.ascontiguousarray(samples)
        frame = av.AudioFrame.from_ndarray(whole, format="fltp", layout=SOUND_LAYOUT)
        frame.rate, frame.pts = SOUND_RATE_HZ, self._written
        frame.time_base = Fraction(1, SOUND_RATE_HZ)
        self._container.mux(self._stream.encode(frame))
        self._written += samples.shape[1]
