"""Writing video: H.264 in MP4 that plays everywhere, every frame at its own time, no sound."""

from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Self

import av
import numpy as np

from formcheck.sheets.veil import Picture

_CLOCK_HZ = 90_000
_BT709 = 1


class ClipWriter:
    """An MP4 file under construction; use it as a context manager.

    Frames come in order with their own times in seconds; the first one fixes the size. yuv420p with
    the index in front, so that it starts at once in a browser; a key frame at least each second, so
    that seeking is quick. Nothing of the source's own data is carried over.
    """

    def __init__(self, path: Path) -> None:
        options = {"movflags": "+faststart"}
        self._container = av.open(str(path), "w", format="mp4", options=options)
        self._stream: av.VideoStream | None = None
        self._last_pts = -1

    def add(self, time_s: float, image: Picture) -> None:
        """Append a picture, (h, w, 3) uint8 RGB; an odd last row or column is left out."""
        height, width = (side // 2 * 2 for side in image.shape[:2])
        if self._stream is None:
            self._stream = self._open_stream(width, height)
        even = np.ascontiguousarray(image[:height, :width])
        frame = av.VideoFrame.from_ndarray(even, format="rgb24")
        frame = frame.reformat(format="yuv420p", dst_colorspace="ITU709")
        frame.time_base = Fraction(1, _CLOCK_HZ)
        frame.pts = max(round(time_s * _CLOCK_HZ), self._last_pts + 1)
        self._last_pts = frame.pts
        self._container.mux(self._stream.encode(frame))

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if kind is None and self._stream is not None:
            self._container.mux(self._stream.encode(None))
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
