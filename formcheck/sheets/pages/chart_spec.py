"""What a chart of a measure over time shows, however it is drawn."""

from dataclasses import dataclass

from formcheck.catalogue.arrays import FloatArray


@dataclass(frozen=True, slots=True)
class Bracket:
    """A repetition on the time axis; ``number`` is what stands above it."""

    number: int
    start_s: float
    end_s: float
    partial: bool


@dataclass(frozen=True, slots=True)
class Band:
    """Limits, and the stretches (start_s, end_s) in which they are judged."""

    low: float | None
    high: float | None
    spans: tuple[tuple[float, float], ...]

    @property
    def limits(self) -> tuple[float, ...]:
        """The limits that there are."""
        return tuple(limit for limit in (self.low, self.high) if limit is not None)

    def holds(self, value: float) -> bool:
        """Whether a value lies within them."""
        low, high = self.low, self.high
        return (low is None or value >= low) and (high is None or value <= high)


@dataclass(frozen=True, slots=True)
class SafetyLimit:
    """A limit that must never be passed, upward or downward; ``text`` says so in words."""

    value: float
    upward: bool
    text: str

    def passed_by(self, value: float) -> bool:
        """Whether a value lies beyond it."""
        return value > self.value if self.upward else value < self.value


@dataclass(frozen=True, slots=True, eq=False)
class ChartSpec:
    """What a chart shows. Arrays are (n,) over ``time_s``, NaN where unknown.

    ``misses`` are the moments and values of what was found outside, or rather outside than not, as
    the tables give them. ``safety`` are limits that must never be passed, ``prominent`` is whether
    anything on it is outside or in doubt, ``more_is_lower`` whether it is drawn upside down.
    """

    key: str
    label: str
    unit: str
    time_s: FloatArray
    value: FloatArray
    sd: FloatArray
    other: FloatArray | None
    bands: tuple[Band, ...]
    brackets: tuple[Bracket, ...]
    misses: tuple[tuple[float, float], ...]
    kind: str
    safety: tuple[SafetyLimit, ...] = ()
    prominent: bool = True
    more_is_lower: bool = False
