"""Decoding with PyAV, which is imported here for reading and nowhere else.

Decoding for measuring runs on one thread on purpose: with more, damage in a file goes unnoticed more
often, and the same damaged file decodes differently from one time to the next.
"""

from collections.abc import Generator, Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import cos, radians, sin
from pathlib import Path
from typing import Any, Literal, cast

import av
import numpy as np
from av.codec import Codec
from av.codec.context import ThreadType
from av.container import Flags, InputContainer
from av.packet import Packet
from av.sidedata.sidedata import SideData
from av.stream import Disposition
from av.video.frame import VideoFrame
from av.video.reformatter import VideoReformatter
from av.video.stream import VideoStream
from numpy.typing import NDArray

from formcheck.clips.files import starts_like_a_clip
from formcheck.clips.times import nominal_step_s
from formcheck.errors import ClipError

MAX_SIDE_PX = 8192
"""Larger pictures are not decoded, so that a small file cannot fill the memory. Mechanical."""

_CONTAINERS = "mov,matroska,avi,mpegts,mpeg,ogg,gif,asf,flv"
"""Demuxers by FFmpeg's names. None of them opens further files, as playlists would."""
_CONTAINERS_STATING_LENGTH = ("mov", "matroska", "avi")
_CODECS_OF_ONE_PICTURE_A_PACKET = ("h264", "hevc", "vp9", "av1")
_MAX_DAMAGED_IN_A_ROW = 300
"""Reading ends after so many packets without a picture: ten seconds of nothing but damage. A proposal."""
_DECODER_OPTIONS = {"max_pixels": str(MAX_SIDE_PX**2)}
"""What FFmpeg refuses by itself. Mechanical."""
_ODD_TEXT: dict[str, Any] = {"metadata_errors": "replace"} if int(av.__version__[:2]) < 19 else {}
"""PyAV before 19 refuses files whose title is not UTF-8 unless told to put up with it. Mechanical."""


def available_codecs() -> dict[str, bool]:
    """For each video codec that formcheck needs, whether the installed PyAV has it."""
    return {
        "h264": _has_codec("h264", "r"),
        "hevc": _has_codec("hevc", "r"),
        "vp9": _has_codec("vp9", "r"),
        "av1": _has_codec("av1", "r"),
        "libx264": _has_codec("libx264", "w"),
    }


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """A decoded picture as stored, and the time at which the file wants it shown, if it says so."""

    frame: VideoFrame
    stamp_s: Fraction | None


class Decoder:
    """The video of one local file. Raises ClipError if not even one picture can be decoded.

    ``damaged`` counts pictures lost to damage and ``broke_off`` says whether the file could not be
    read on; both are final once ``pictures`` has been read to its end.
    """

    def __init__(self, path: Path, threads: int = 1) -> None:
        self._name = path.name
        # Each remembers how it scaled last, which saves time as long as that stays the same.
        self._to_rgb, self._to_grey = VideoReformatter(), VideoReformatter()
        self._container = open_container(path)
        self.damaged = 0
        self.broke_off = False
        try:
            self._stream = _video_stream(self._container, path.name, threads)
            self._pictures = self._decode()
            self.first = self._first()
        except BaseException:
            self._container.close()
            raise

    def close(self) -> None:
        """Let go of the file."""
        self._pictures.close()
        self._container.close()

    @property
    def container(self) -> str:
        """The container's name in FFmpeg."""
        return str(self._container.format.name)

    @property
    def codec(self) -> str:
        """The codec's name in FFmpeg."""
        return _codec_name(self._stream)

    @property
    def step_s(self) -> Fraction:
        """Seconds between pictures by what the file states, or a usual value."""
        rates = (self._stream.average_rate, self._stream.guessed_rate)
        return nominal_step_s(_fraction(rate) for rate in rates)

    @property
    def length_s(self) -> Fraction | None:
        """Length of the video by what the file states; None for kinds of file that do not."""
        if not self.container.startswith(_CONTAINERS_STATING_LENGTH):
            return None
        time_base = _fraction(self._stream.time_base)
        if self._stream.duration and time_base:
            return self._stream.duration * time_base
        if not self._container.duration:
            return None
        # Some writers count from 0 even where the first picture is shown later.
        end, start = self._container.duration, max(self._container.start_time or 0, 0)
        return Fraction(end - start if end > start else end, av.time_base)

    @property
    def pixel_shape(self) -> Fraction | None:
        """Width of a stored pixel over its height, if the file says so."""
        return _fraction(self._stream.sample_aspect_ratio)

    @property
    def display_matrix(self) -> list[float] | None:
        """The 9 numbers that turn the first picture upright, if it carries them."""
        frame = self.first.frame
        try:
            side_data = cast(SideData | None, frame.side_data.get("DISPLAYMATRIX"))
        except ValueError:  # beside it lies data of a kind that PyAV does not know
            turn = radians(frame.rotation)
            return [cos(turn), -sin(turn), 0, sin(turn), cos(turn), 0, 0, 0, 1]
        return None if side_data is None else list(np.frombuffer(bytes(side_data), np.int32, 9))

    def pictures(self) -> Iterator[Picture]:
        """All whole pictures in order of showing; can be read once."""
        yield self.first
        yield from self._pictures

    def rgb(self, picture: Picture, width: int, height: int) -> NDArray[np.uint8]:
        """(height, width, 3) colours of a stored picture, scaled; rows may be padded.

        Raises ClipError for kinds of picture that cannot be turned into colours.
        """
        return self._scaled(self._to_rgb, picture, width, height, "rgb24")

    def grey(self, picture: Picture, width: int, height: int) -> NDArray[np.uint8]:
        """(height, width) brightness of a stored picture, scaled. Raises as ``rgb``."""
        return self._scaled(self._to_grey, picture, width, height, "gray8")

    def _scaled(
        self, reformatter: VideoReformatter, picture: Picture, width: int, height: int, to: str
    ) -> NDArray[np.uint8]:
        try:
            scaled = reformatter.reformat(picture.frame, width, height, to, interpolation="AREA")
            return scaled.to_ndarray().astype(np.uint8, copy=False)
        except (av.FFmpegError, ValueError) as error:
            raise ClipError(
                f"{self._name}: pictures of the kind '{picture.frame.format.name}' cannot be "
                "shown; export the clip again as an ordinary MP4"
            ) from error

    def _first(self) -> Picture:
        first = next(self._pictures, None)
        if first is None:
            raise ClipError(
                f"{self._name}: not one picture of the video can be decoded, because the file is "
                f"damaged or its pictures are larger than {MAX_SIDE_PX} x {MAX_SIDE_PX} pixels; "
                "copy it again or export it as an ordinary MP4"
            )
        return first

    def _decode(self) -> Generator[Picture, None, None]:
        time_base = _fraction(self._stream.time_base)
        whole = packets = in_a_row = 0
        interlaced = False
        for packet in self._packets():
            packets += packet is not None and not packet.is_discard
            try:
                frames = self._stream.codec_context.decode(packet)
            except (av.FFmpegError, ValueError):
                frames = []
                in_a_row += 1
                self.damaged += 1
            for frame in frames:
                if frame.is_corrupt:
                    self.damaged += 1
                    continue
                whole += 1
                in_a_row = 0
                interlaced = frame.interlaced_frame
                ticks = frame.dts if frame.pts is None else frame.pts
                yield Picture(frame, ticks * time_base if ticks is not None and time_base else None)
            if in_a_row > _MAX_DAMAGED_IN_A_ROW:
                self.broke_off = True
                break
        if self.codec in _CODECS_OF_ONE_PICTURE_A_PACKET and not interlaced:
            self.damaged = max(self.damaged, packets - whole)  # decoders drop some without a word

    def _packets(self) -> "Iterator[Packet[VideoStream] | None]":
        """The packets of the stream, then None to get the last pictures out of the decoder.

        Empty packets (Theora, AVI) mean that the picture before them stays; a decoder would take
        one for the end.
        """
        try:
            for packet in self._container.demux(self._stream):
                if packet.size:
                    yield packet
        except (av.FFmpegError, ValueError):
            self.broke_off = True
        except IndexError:  # at the end, PyAV asks for streams that came up on the way (MPEG-TS)
            pass
        yield None


def open_container(path: Path) -> InputContainer:
    """Open a local file, and never anything that it names: no network, playlists or patterns."""
    try:
        container: InputContainer = av.open(
            f"file:{path}",
            mode="r",
            options=_DECODER_OPTIONS,
            container_options={"protocol_whitelist": "file", "format_whitelist": _CONTAINERS},
            **_ODD_TEXT,
        )
    except (av.FFmpegError, ValueError, RuntimeError):
        reason = (
            "the recording is damaged or lacks its end; copy it again from where it was made"
            if starts_like_a_clip(path)
            else "this is not a video that formcheck can read; export it as MP4 or MOV"
        )
        raise ClipError(f"{path.name}: {reason}") from None
    # Presentation stamps made up by FFmpeg are wrong where pictures are reordered (AVI).
    container.flags &= ~cast(int, Flags.gen_pts.value)
    return container


def _video_stream(container: InputContainer, name: str, threads: int) -> VideoStream:
    """The largest moving picture; cover pictures of audio files are none."""
    streams = [s for s in container.streams.video if not Disposition.attached_pic & s.disposition]
    if not streams:
        raise ClipError(f"{name}: there is no video in the file; choose a video or copy it again")
    stream = max(streams, key=_pixels)
    if not _codec_name(stream):
        raise ClipError(
            f"{name}: its video is damaged or of a kind that cannot be decoded; "
            "copy it again or export it as an ordinary MP4"
        )
    stream.codec_context.thread_count = threads
    if threads > 1:
        stream.codec_context.thread_type = ThreadType.FRAME
    stream.codec_context.options = _DECODER_OPTIONS
    return stream


def _codec_name(stream: VideoStream) -> str:
    """Empty where there is no decoder, which releases of PyAV say in two ways."""
    try:
        return stream.codec_context.codec.canonical_name if stream.codec_context else ""
    except ValueError:
        return ""


def _pixels(stream: VideoStream) -> int:
    return stream.width * stream.height if stream.codec_context else 0


def _fraction(value: Fraction | None) -> Fraction | None:
    """PyAV's rational as a Fraction, None where it is unset: some releases write that as 0."""
    return Fraction(value.numerator, value.denominator) if value else None


def _has_codec(name: str, mode: Literal["r", "w"]) -> bool:
    try:
        Codec(name, mode)
    except ValueError:
        return False
    return True
