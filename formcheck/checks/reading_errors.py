"""How the readings of a measure err, beside what their standard uncertainty says.

A standard uncertainty alone is commonly taken for that of a normal error. Ours are set so that they
cover 95 of 100 errors, and readings are not like that: most err by less, and a few, in which a joint
was mistaken or the quiet start was none, by far more. So an error is taken to be normal with
``near`` times the stated uncertainty, but in a share ``far_share`` of all readings with ``far``
times as much (the contaminated normal of Tukey 1960, "A survey of sampling from contaminated
distributions"; JCGM 101:2008, 6.4, asks for the distribution that is known). Where it is known that
departures from what is usual are read too small or too large, ``gain`` undoes it.

``data/reading_errors.json`` has all of them by measure and kind of statistic, as fitted by
``python -m models.calibration.reading_errors``. What it lacks is taken to err normally. Repetitions of
one clip err alike: of their errors in angles, three quarters to nine tenths of the variance is common
to all of them. So the same reading in each of eight is hardly surer than in one, and each is judged by
itself.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from math import erfc, sqrt
from statistics import NormalDist

from formcheck.exercises.schema import Check
from formcheck.movements.types import Kind

_STEPS = 60
"""Halvings in which a quantile is found to within rounding. Mechanical."""


@dataclass(frozen=True, slots=True)
class ReadingErrors:
    """The distribution of true value less reading, in stated standard uncertainties.

    ``gain`` is the departure from the usual value for each one that is read.
    """

    gain: float = 1.0
    near: float = 1.0
    far: float = 1.0
    far_share: float = 0.0

    def upper_tail(self, deviations: float) -> float:
        """Probability that the error is larger than so many stated standard uncertainties."""
        near, far = (0.5 * erfc(deviations / (one * sqrt(2))) for one in (self.near, self.far))
        return (1 - self.far_share) * near + self.far_share * far

    def reached(self, probability: float) -> float:
        """The deviation that is exceeded with this probability, which is under one half."""
        low, high = 0.0, NormalDist().inv_cdf(1 - probability) * max(self.near, self.far)
        for _ in range(_STEPS):
            middle = (low + high) / 2
            low, high = (middle, high) if self.upper_tail(middle) > probability else (low, middle)
        return high


NORMAL = ReadingErrors()


def kind_of(check: Check, movement: Kind = "rep") -> str:
    """What a statistic tells, as errors differ by it: a ``value``, a ``change`` or a ``spread``.

    The spread within a circle is one of its own: the arm points everywhere in turn, and a joint that
    wanders meanwhile is far more often read as keeping still.
    """
    if check.statistic == "spread":
        return "spread-in-circle" if movement == "circle" else "spread"
    return "change" if check.relative or check.statistic == "range" else "value"


def errors_of(check: Check, movement: Kind = "rep") -> ReadingErrors:
    """How readings of what a check judges in a repetition, hold or circle err.

    Of a limit of safety nothing is usual, and what is stated is never made smaller.
    """
    errors = _known().get((check.measure, kind_of(check, movement)), NORMAL)
    return replace(errors, gain=1.0, near=max(errors.near, 1.0)) if check.safety_limit else errors


@cache
def _known() -> Mapping[tuple[str, str], ReadingErrors]:
    file = resources.files(__package__) / "data" / "reading_errors.json"
    rows = json.loads(file.read_text("utf-8"))["errors"]
    return {
        (row["measure"], row["kind"]): ReadingErrors(
            row["gain"], row["near"], row["far"], row["far_share"]
        )
        for row in rows
    }
