"""How much later one recording was started than the other, told by what both heard."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.arrays import FloatArray

SOUND_RATE_HZ = 48_000
"""Samples a second of the sounds that are compared. Mechanical."""
ENVELOPE_HZ = 400
"""Loudness is compared so many times a second. A proposal."""
MIN_CLARITY = 8.0
"""The best match must stand out by so many times the usual deviation of all. A proposal."""
MIN_LEAD = 1.5
"""... and be so many times as good as the next best. A proposal."""
_APART_S = 0.05
"""Matches nearer to each other than this are one. A proposal."""
_BEGINS_S = 0.1
"""The beginning of every recording is a rise from silence, and left out. A proposal."""
_LEAST_S = 1.0
"""Sounds shorter than this are not compared. A proposal."""
_FLOOR = 1e-4
"""Loudness below which a recording is silent, of full scale. A proposal."""

Samples = Iterable[NDArray[np.float32]]
"""Blocks of (channels, n) samples."""


def sound_offset_s(first: Samples, second: Samples) -> float | None:
    """By how much the second recording's time is ahead of the first's, in seconds.

    One clap before both phones is enough. None where nothing that both heard stands out clearly.
    """
    a, b = _onsets(first), _onsets(second)
    if min(len(a), len(b)) < _LEAST_S * ENVELOPE_HZ or not (a.any() and b.any()):
        return None
    size = 1 << (len(a) + len(b) - 1).bit_length()
    lagged = np.fft.irfft(np.conj(np.fft.rfft(a, size)) * np.fft.rfft(b, size), size)
    match = np.concatenate([lagged[size - len(a) + 1 :], lagged[: len(b)]])
    best = int(match.argmax())
    near = slice(
        max(best - round(_APART_S * ENVELOPE_HZ), 0), best + round(_APART_S * ENVELOPE_HZ) + 1
    )
    others = np.delete(match, np.arange(len(match))[near])
    clear = match[best] > MIN_CLARITY * np.std(match) and match[best] > MIN_LEAD * others.max()
    return (best - len(a) + 1) / ENVELOPE_HZ if clear else None


def _onsets(sound: Samples) -> FloatArray:
    """How suddenly it becomes louder (n,), ENVELOPE_HZ a second, beside what is usual in it: the rises
    of a steady hiss would else match everywhere, and in a long recording outweigh a clap.
    """
    step = SOUND_RATE_HZ // ENVELOPE_HZ
    left = np.zeros(0, np.float32)
    powers = []
    for block in sound:
        whole = np.concatenate([left, block.mean(axis=0)])
        count = len(whole) // step
        powers.append(np.mean(whole[: count * step].reshape(count, step) ** 2, axis=1))
        left = whole[count * step :]
    power = np.concatenate(powers) if powers else np.zeros(0)
    loudness = np.log(np.maximum(np.asarray(power, dtype=float), _FLOOR**2))
    rises = np.maximum(np.diff(loudness, prepend=loudness[:1]), 0.0)
    rises[: round(_BEGINS_S * ENVELOPE_HZ)] = 0.0
    return np.asarray(rises - rises.mean() if rises.any() else rises)
