"""What the movements package hands on: one Rep for each repetition, hold or circle."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from formcheck.catalogue.codes import ReasonCode
from formcheck.catalogue.quantity import Quantity

Kind = Literal["rep", "hold", "circle"]
Direction = Literal["forward", "backward"]


@dataclass(frozen=True, slots=True)
class Rep:
    """One repetition, hold or circle of one side, or of both arms together.

    The effort runs from ``start_s`` to ``top_start_s``, the top (or the hold) to ``top_end_s``, the
    return to ``end_s``. ``hold_s`` is the time held, for holds. ``measures`` are those of the
    repetition as a whole, such as ``range``, ``duration``, ``peak_speed``, ``steadiness``,
    ``roundness``.
    ``place_distances`` says, in compound sets, how far the arm is from the place of each part, in
    standard uncertainties. A ``partial`` repetition was begun or ended outside the clip, or broken
    off; it does not count, and ``reason`` says why where that is known. ``set`` is the number of its
    side's set in the clip. ``arms`` has the repetition of each arm where both do at once what one
    arm does at a time.
    """

    index: int
    kind: Kind
    side: str
    partial: bool
    start_s: float
    top_start_s: float
    top_end_s: float
    end_s: float
    hold_s: float | None = None
    direction: Direction | None = None
    part: str | None = None
    place_distances: tuple[float, ...] = ()
    measures: Mapping[str, Quantity] = field(default_factory=dict)
    reason: ReasonCode | None = None
    set: int = 1
    arms: tuple["Rep", ...] = ()
