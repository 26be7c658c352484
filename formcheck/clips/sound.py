"""The sound of a clip on the time line of its pictures."""

from collections.abc import Iterator
from contextlib import closing
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.audio.frame import AudioFrame
from av.audio.resampler import AudioResampler
from av.container import InputContainer
from numpy.typing import NDArray

from formcheck.clips.decoder import Decoder, open_container

SOUND_RATE_HZ = 48_000
"""Every sound is brought to this rate, which video formats use most. Mechanical."""
SOUND_LAYOUT = "stereo"
_SLACK = SOUND_RATE_HZ // 50
"""Stamps of sound are rounded by the file; only what is off by more than a fiftieth of a second is
a gap or an overlap. A proposal."""

Samples = NDArray[np.float32]


def has_sound(path: Path) -> bool:
    """Whether there is a sound track in a local clip. Raises ClipError as ``open_clip``."""
    with open_container(path) as container:
        return bool(container.streams.audio)


def read_sound(path: Path) -> Iterator[Samples]:
    """The first sound track of a local clip in blocks of (2, n) samples, 48 kHz, without a break.

    The first sample belongs to the first picture: what was heard before is left out, a later start,
    a gap or damage is silence. Nothing for a clip without sound. Raises ClipError as ``open_clip``.
    """
    with closing(Decoder(path)) as pictures:
        begins_s = pictures.first.stamp_s or Fraction(0)
    with open_container(path) as container:
        if not container.streams.audio:
            return
        done = 0
        for start_s, samples in _decoded(container):
            lacking = round((start_s - begins_s) * SOUND_RATE_HZ) - done
            if lacking > _SLACK:
                yield from _silence(lacking)
                done += lacking
            block = samples[:, -lacking:] if lacking < -_SLACK else samples
            if block.size:
                yield block
                done += block.shape[1]


def _silence(count: int) -> Iterator[Samples]:
    """In pieces of a second: a broken stamp may ask for a day of it."""
    for begin in range(0, count, SOUND_RATE_HZ):
        yield np.zeros((2, min(SOUND_RATE_HZ, count - begin)), np.float32)


def _decoded(container: InputContainer) -> Iterator[tuple[Fraction, Samples]]:
    """Blocks of sound with their times in the file; damaged ones are passed over."""
    resampler = AudioResampler("fltp", SOUND_LAYOUT, SOUND_RATE_HZ)
    try:
        for packet in container.demux(container.streams.audio[0]):
            for frame in _frames(packet):
                if frame.pts is None or frame.time_base is None:
                    continue
                start_s = frame.pts * Fraction(frame.time_base)
                frame.pts = None  # the place is kept here; the resampler need not count
                for even in resampler.resample(frame):
                    yield start_s, even.to_ndarray().astype(np.float32, copy=False)
    except av.FFmpegError:
        return


def _frames(packet: "av.Packet[av.AudioStream]") -> list[AudioFrame]:
    try:
        return packet.decode()
    except (av.FFmpegError, ValueError):
        return []
