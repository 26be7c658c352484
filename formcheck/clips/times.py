"""Time lines: stamps put right where they are wrong, pictures thinned out evenly, rate summed up.

All times are exact fractions of a second.
"""

from array import array
from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import TypeVar

import numpy as np

T = TypeVar("T")

SHORTEST_STEP_S = Fraction(1, 2000)
"""No camera here films faster than this; a shorter step is a repeated stamp, nudged by a muxer.
A proposal."""
_RESET_S = Fraction(1, 2)
"""A drop beyond this is a clock that began anew, not the reordering of a few pictures. A proposal."""
_LONGEST_GAP_S = Fraction(300)
"""A leap beyond this is a clock that began anew, not a gap in a recorded set. A proposal."""
_PLAUSIBLE_RATES_HZ = (1, 1000)
"""A stated rate outside of these is not believed. A proposal."""
_USUAL_RATE_HZ = 30
"""The rate of most phones, where a file states none. Common practice, no source."""
_USUAL_STEP_TOLERANCE = 0.25
"""A step that differs from the usual one by more than this share of it is odd. A proposal."""
_VARIABLE_SHARE = 0.02
"""The rate is variable if odd steps take more than this share of the clip. A proposal."""


def with_following(items: Iterable[T]) -> Iterator[tuple[T, T | None]]:
    """Each item, none of them None, with the one after it; the last with None."""
    iterator = iter(items)
    item = next(iterator, None)
    while item is not None:
        following = next(iterator, None)
        yield item, following
        item = following


def nominal_step_s(rates_hz: Iterable[Fraction | None]) -> Fraction:
    """Seconds between pictures from the first plausible rate that the container states."""
    low, high = _PLAUSIBLE_RATES_HZ
    for rate in rates_hz:
        if rate and low <= rate <= high:
            return 1 / rate
    return Fraction(1, _USUAL_RATE_HZ)


class TimeRepair:
    """Puts presentation stamps on a strictly rising time line that starts at 0.

    Good stamps keep their distances exactly, also across a gap of minutes. A stamp that is
    missing, repeats, falls back or overshoots the one after it is replaced by a guess between its
    neighbours, and ``repaired`` counts it. Where the clock begins anew, the time line goes on.
    """

    def __init__(self, step_s: Fraction) -> None:
        self.repaired = 0
        self._step = step_s
        self._last: Fraction | None = None
        self._shift: Fraction | None = None  # from stamps to the time line, once one is trusted

    def place(self, stamp: Fraction | None, following: Fraction | None) -> Fraction:
        """Seconds from the first picture, for a stamp and the stamp of the picture after it."""
        if self._last is None or self._shift is None:
            self._last = self._begin(stamp, following)
        else:
            self._last = self._go_on(self._last, self._shift, stamp, following)
        return self._last

    def _begin(self, stamp: Fraction | None, following: Fraction | None) -> Fraction:
        time = Fraction(0) if self._last is None else self._last + self._step
        if stamp is None or (following is not None and following < stamp):
            self.repaired += 1
        else:
            self._shift = time - stamp
        return time

    def _go_on(
        self, last: Fraction, shift: Fraction, stamp: Fraction | None, following: Fraction | None
    ) -> Fraction:
        earliest = last + SHORTEST_STEP_S
        guess = last + self._step
        next_time = None if following is None or following + shift < earliest else following + shift
        if stamp is not None:
            time = stamp + shift
            jumped = time < last - _RESET_S or time > last + _LONGEST_GAP_S
            if time >= earliest and not jumped and (next_time is None or next_time >= time):
                return time
            if jumped and (
                following is None or abs(following - stamp) < abs(following + shift - last)
            ):  # what follows goes on from there, so the clock began anew
                self._shift = guess - stamp
                next_time = None
        self.repaired += 1
        return (last + next_time) / 2 if next_time is not None and next_time <= guess else guess


class Thinning:
    """Chooses pictures so that about ``rate_hz`` of them a second remain, evenly spaced.

    One step after the last kept picture the next is due; kept is the picture closest to that time,
    so that 60 Hz gives every second picture for 30 Hz, and 24 or 29.97 Hz gives all, jitter or not.
    """

    def __init__(self, rate_hz: float | None) -> None:
        self._step = 1 / Fraction(rate_hz) if rate_hz else None
        self._kept: Fraction | None = None

    def keeps(self, time: Fraction, following: Fraction | None) -> bool:
        """Whether the picture at this time stays, given the time of the picture after it."""
        if self._step is not None and self._kept is not None:
            middle = time + self._step / 4 if following is None else (time + following) / 2
            if middle < self._kept + self._step:
                return False
        self._kept = time
        return True


class Cadence:
    """Sums up a time line: number of pictures, duration, mean rate, steady or not."""

    def __init__(self, nominal_step_s: float) -> None:
        self.frames = 0
        self.last_s = 0.0
        self._nominal_step_s = nominal_step_s
        self._steps_s = array("d")

    def add(self, time_s: float) -> None:
        """Count the picture at this time; times rise."""
        if self.frames:
            self._steps_s.append(time_s - self.last_s)
        self.frames += 1
        self.last_s = time_s

    @property
    def usual_step_s(self) -> float:
        """The median step; the nominal one where there are not two pictures."""
        return float(np.median(self._steps_s)) if self._steps_s else self._nominal_step_s

    @property
    def duration_s(self) -> float:
        """From the first picture to the end of the last, which is taken to last a usual step."""
        return self.last_s + self.usual_step_s if self.frames else 0.0

    @property
    def mean_rate_hz(self) -> float:
        """Pictures a second between the first and the last."""
        return len(self._steps_s) / self.last_s if self._steps_s else 1 / self._nominal_step_s

    @property
    def variable(self) -> bool:
        """Whether more than 2 % of the time lies in steps that differ from the usual by a quarter.

        Both limits are our choice: one dropped picture in a set leaves a rate steady.
        """
        steps_s = np.asarray(self._steps_s)
        odd = np.abs(steps_s - self.usual_step_s) > _USUAL_STEP_TOLERANCE * self.usual_step_s
        return bool(steps_s[odd].sum() > _VARIABLE_SHARE * self.last_s)
