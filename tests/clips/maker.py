"""Small clips whose pictures tell their own number and which way up they are."""

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

TICK = Fraction(1, 90_000)
RED, GREEN, BLUE, YELLOW = (220, 30, 30), (30, 200, 30), (30, 30, 220), (220, 220, 30)
_BITS = 8
_QUIET = {"libx265": {"x265-params": "log-level=none"}, "libx264": {"preset": "ultrafast"}}


def draw(number: int, width: int, height: int) -> np.ndarray:
    """Red, green above blue, yellow in the corners; the number as white and black bars between."""
    image = np.zeros((height, width, 3), np.uint8)
    third, half = height // 3, width // 2
    image[:third, :half], image[:third, half:] = RED, GREEN
    image[-third:, :half], image[-third:, half:] = BLUE, YELLOW
    for bit in range(_BITS):
        left, right = bit * width // _BITS, (bit + 1) * width // _BITS
        image[third : height - third, left:right] = 235 if number >> bit & 1 else 20
    return image


def number_in(image: np.ndarray) -> int:
    """The number that ``draw`` put into an upright picture of any size."""
    height, width = image.shape[:2]
    middle = image[height // 2].mean(axis=1)
    bars = [middle[round((bit + 0.5) * width / _BITS)] for bit in range(_BITS)]
    return sum(1 << bit for bit, brightness in enumerate(bars) if brightness > 128)


def corners(image: np.ndarray) -> list[str]:
    """Names of the colours at top left, top right, bottom left, bottom right."""
    names = {"red": RED, "green": GREEN, "blue": BLUE, "yellow": YELLOW}
    height, width = image.shape[:2]
    places = [(y, x) for y in (height // 8, -height // 8) for x in (width // 8, -width // 8)]
    return [
        min(names, key=lambda name: np.abs(image[place].astype(int) - names[name]).sum())
        for place in places
    ]


def write_clip(
    path: Path,
    times_s: Sequence[Fraction | float],
    *,
    codec: str = "libx264",
    size: tuple[int, int] = (64, 48),
    pixel_format: str = "yuv420p",
    rate: Fraction | int = 30,
    tick: Fraction = TICK,
    rotation_deg: float = 0,
    flipped: bool = False,
    pixel_shape: Fraction | None = None,
    options: dict[str, str] | None = None,
    file_options: dict[str, str] | None = None,
    stamps: Sequence[int] | None = None,
) -> Path:
    """A clip of one numbered picture for each time.

    ``stamps``, in ticks, are written over the presentation stamps of the finished packets.
    """
    with av.open(str(path), "w", options=file_options or {}) as container:
        stream = container.add_stream(
            codec, rate=rate, options=_QUIET.get(codec, {}) | (options or {})
        )
        stream.width, stream.height = size
        stream.pix_fmt = pixel_format
        stream.codec_context.time_base = tick
        if pixel_shape is not None:
            stream.codec_context.sample_aspect_ratio = pixel_shape
        if rotation_deg or flipped:
            stream.set_display_rotation(rotation_deg, hflip=flipped)
        container.start_encoding()
        packets = []
        for number, time in enumerate(times_s):
            frame = av.VideoFrame.from_ndarray(draw(number % 256, *size), format="rgb24")
            frame = frame.reformat(format=pixel_format)
            frame.pts, frame.time_base = round(Fraction(time) / tick), tick
            packets += stream.encode(frame)
        packets += stream.encode(None)
        for number, packet in enumerate(packets):
            if stamps is not None:
                packet.dts, packet.pts, packet.time_base = number, stamps[number], tick
            container.mux(packet)
    return path


def write_sound(path: Path) -> Path:
    """Half a second of silence."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream("aac", rate=16_000, layout="mono")
        for start in range(0, 8192, 1024):
            frame = av.AudioFrame.from_ndarray(
                np.zeros((1, 1024), np.float32), format="fltp", layout="mono"
            )
            frame.rate, frame.pts = 16_000, start
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def steady(count: int, rate_hz: int = 30, start_s: int = 0) -> list[Fraction]:
    """Times of ``count`` pictures at a steady rate."""
    return [start_s + Fraction(number, rate_hz) for number in range(count)]
