"""The signal that repetitions are found in: the primary measure of an exercise over time."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.catalogue.measures import MEASURES
from formcheck.exercises.schema import Exercise
from formcheck.measures.table import MeasureTable, Series, Side, column_name
from formcheck.movements.signals import bridged, combined, known_pieces

REST_PERCENTILE = 5.0
"""The resting level is the lowest that the effort's measure reads, but for single bad readings.
A proposal."""


@dataclass(frozen=True, slots=True, eq=False)
class ArmSignal:
    """The primary measure of an exercise for one side, or for both together.

    ``primary`` is the measure as the table has it.
    """

    table: MeasureTable
    exercise: Exercise
    sides: tuple[Side, ...]
    primary: Series

    @classmethod
    def of(cls, table: MeasureTable, exercise: Exercise, sides: tuple[Side, ...]) -> "ArmSignal":
        """The signal of these sides; two are joined into one."""
        return cls(table, exercise, sides, combined(table, exercise.primary.measure, sides))

    @property
    def side(self) -> str:
        """``left``, ``right`` or ``both``."""
        return self.sides[0] if len(self.sides) == 1 else "both"

    @property
    def sign(self) -> float:
        """+1 where the effort raises the measure, -1 where it lowers it."""
        return 1.0 if self.exercise.primary.direction == "rise" else -1.0

    @property
    def effort(self) -> FloatArray:
        """The primary measure (n,), turned so that the effort makes it rise; NaN where unknown."""
        return self.sign * self.primary.value

    @property
    def rest(self) -> float:
        """The level of ``effort`` at which the arm rests."""
        return float(np.nanpercentile(self.effort, REST_PERCENTILE))

    @property
    def unit(self) -> str:
        """The unit of the primary measure."""
        return MEASURES[self.exercise.primary.measure].unit

    @property
    def min_range(self) -> float:
        """The smallest excursion that can be a repetition at all, in ``unit``."""
        return self.exercise.primary.min_range

    def series(self, measure: str) -> Series:
        """Another measure of the same sides."""
        return combined(self.table, measure, self.sides)

    def known(self, measures: Iterable[str]) -> list[str]:
        """Those of the measures of an arm that the table has of these sides."""
        columns = self.table.columns
        return [
            name for name in measures if all(column_name(name, s) in columns for s in self.sides)
        ]

    @property
    def in_place(self) -> BoolArray:
        """(n,) True where the arm is at the resting place of the effort, as far as that is known,
        or lifted from it; everywhere if there is none.
        """
        inside = np.ones(len(self.table.time_s), dtype=bool)
        for place in self.exercise.primary.rest:
            value = self.series(place.measure).value
            low = -np.inf if place.low is None else place.low
            high = np.inf if place.high is None else place.high
            inside &= ~np.isfinite(value) | ((value >= low) & (value <= high))
        return inside

    def between(self, start_s: float, end_s: float) -> BoolArray:
        """(n,) True at the times from ``start_s`` to ``end_s``, both included."""
        return np.asarray((self.table.time_s >= start_s) & (self.table.time_s <= end_s))

    def known_stretches(self) -> Iterator[tuple[FloatArray, FloatArray]]:
        """Times and ``effort`` of each stretch that is known, small gaps in it bridged."""
        for piece in known_pieces(self.table, self.primary.value):
            times = self.table.time_s[piece]
            yield times, bridged(times, self.effort[piece])
