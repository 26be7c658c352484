"""A number that does not stand alone."""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value with one standard uncertainty (GUM), both in ``unit``; NaN where unknown."""

    value: float
    sd: float
    unit: str

    @property
    def known(self) -> bool:
        """Whether value and uncertainty are both known."""
        return math.isfinite(self.value) and math.isfinite(self.sd)
