"""Two cameras as they were joined."""

from dataclasses import dataclass, field

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray, IntArray
from formcheck.landmarks.track import LandmarkTrack
from formcheck.views.adjust import Fit
from formcheck.views.clocks import Clock
from formcheck.views.exchanges import with_sides
from formcheck.views.observation import Observation
from formcheck.views.rig import Rig


@dataclass(frozen=True, slots=True, eq=False)
class Joined:
    """Two cameras joined, at n times of the first.

    ``fit`` has the rig and the joints at the ``keys`` (indices of the times), ``a`` and ``b`` what both
    saw at all times, sides put right; ``bones_m`` is what the bones were drawn to. ``windows`` are the
    local offsets that were found beyond the clock's by where the joints lie, seconds, ``moved`` those by how
    the body moves. ``halves_cost`` is the cost a time if each
    half of the set has cameras of its own, ``evidence`` what the movement says for the clock
    (``offset.Offset``), ``arms`` how well each moving arm correlates (``offset.arm_correlations``),
    ``shorter_s`` how long the shorter of the clips is,
    ``mirrored`` whether the arms move with the other side's.
    """

    fit: Fit
    a: Observation
    b: Observation
    keys: IntArray
    bones_m: FloatArray
    clock: Clock
    exchanged: tuple[BoolArray, BoolArray]
    windows: FloatArray
    moved: FloatArray = field(default_factory=lambda: np.zeros(0))
    halves_cost: float = 0.0
    evidence: float = 0.0
    arms: FloatArray = field(default_factory=lambda: np.zeros(0))
    mirrored: bool = False
    shorter_s: float = 0.0

    def put_right(
        self, track_a: LandmarkTrack, track_b: LandmarkTrack
    ) -> tuple[LandmarkTrack, LandmarkTrack]:
        """Both tracks with their sides put back as both cameras together tell them."""
        times, (first, second) = self.a.time_s, self.exchanged
        return (
            with_sides(track_a, times, first),
            with_sides(track_b, self.clock.of(times), second),
        )

    @property
    def rig(self) -> Rig:
        """The cameras."""
        return self.fit.rig
