"""What is known of the estimators' habit of reading faults as usual, and how a verdict undoes it.

The networks that read angles have seen exercises done well more often than done wrong, so that
where the picture leaves room they draw a reading towards what is usual. ``data/habits.json`` says
how much, by measure and view: ``slope`` is the share of a departure from the usual value that is
read, ``extra_sd`` what the stated uncertainty lacks. ``python -m models.calibration.habits`` fits
it. A measure and view that the table lacks has no known habit.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from math import hypot

from formcheck.catalogue.views import FilmingView, MeasuredView
from formcheck.checks.decision import middle
from formcheck.exercises.schema import Check


@dataclass(frozen=True, slots=True)
class Habit:
    """How an estimator reads departures from the usual value; ``extra_sd`` in the measure's unit."""

    slope: float = 1.0
    extra_sd: float = 0.0

    def corrected(self, departure: float, sd: float) -> tuple[float, float]:
        """A departure from the usual value and its standard uncertainty, both as they rather are."""
        return departure / self.slope, hypot(sd / self.slope, self.extra_sd)

    def undone(self, check: Check, value: float, sd: float) -> tuple[float, float]:
        """The value and standard uncertainty that a verdict goes by.

        The usual value is the middle of the target. A limit of safety has nothing usual about it,
        so that there only the uncertainty grows.
        """
        if check.safety_limit:
            return value, hypot(sd, self.extra_sd)
        usual = middle(check)
        departure, sd = self.corrected(value - usual, sd)
        return usual + departure, sd


NO_HABIT = Habit()


def habit_of(check: Check, view: MeasuredView) -> Habit:
    """The habit in reading what a check judges.

    It is known of values; of changes, and of what belongs to a repetition as a whole, it is not.
    """
    if check.relative or check.statistic in ("range", "spread", "value") or view.general is None:
        return NO_HABIT
    return _known().get((check.measure, view.general), NO_HABIT)


@cache
def _known() -> Mapping[tuple[str, FilmingView], Habit]:
    file = resources.files(__package__) / "data" / "habits.json"
    rows = json.loads(file.read_text("utf-8"))["habits"]
    return {
        (row["measure"], FilmingView(row["view"])): Habit(row["slope"], row["extra_sd"])
        for row in rows
    }
