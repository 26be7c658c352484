"""Two cameras as they were joined."""

from dataclasses import dataclass

from formcheck.catalogue.arrays import BoolArray, FloatArray, IntArray
from formcheck.views.adjust import Fit
from formcheck.views.clocks import Clock
from formcheck.views.observation import Observation
from formcheck.views.rig import Rig


@dataclass(frozen=True, slots=True, eq=False)
class Joined:
    """Two cameras joined, at n times of the first.

    ``fit`` has the rig and the joints at the ``keys`` (indices of the times), ``a`` and ``b`` what both
    saw at all times, sides put right; ``bones_m`` is what the bones were drawn to. ``windows``
    are the local offsets that were found beyond the clock's, and ``turns`` those by the turning of
    bones, seconds. ``halves_cost`` is the cost a time if each half of the set has cameras of its own.
    """

    fit: Fit
    a: Observation
    b: Observation
    keys: IntArray
    bones_m: FloatArray
    clock: Clock
    exchanged: tuple[BoolArray, BoolArray]
    correlation: float
    windows: FloatArray
    turns: FloatArray
    halves_cost: float = 0.0

    @property
    def rig(self) -> Rig:
        """The cameras."""
        return self.fit.rig
