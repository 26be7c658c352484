"""How far results repeat: the standard error of measurement (SEM), and the smallest detectable change.

The SEM is the standard deviation of a set's results over filmings of it, the camera put up anew each
time. It comes from a study of made sets (``data/sem.json``), by measure and view, or else from the
uncertainty that was stated with each reading, and from the client's own sets that were filmed again on
purpose, pooled by their degrees of freedom.
"""

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib import resources

NORMAL_95 = 1.96
"""Standard deviations on either side of a normal mean that hold 95 %. Mechanical."""
STUDY_FREEDOM = 10
"""Degrees of freedom that study or stated uncertainty are worth beside a client's own sets: after so
many of their own filmings, both weigh the same. A proposal."""
AS_SURE = 1.35
"""A reading whose stated uncertainty is more than so many times the usual one is unsure by itself: beyond
it, changes from a signed set were far off. Read on rendered people."""
VIEW_ENDS_DEG = {"front": 30.0, "oblique": 60.0, "side": 120.0, "back": 181.0}
"""Views that the study tells apart, by how far the body is turned from the camera, up to so many
degrees. Mechanical."""


class Basis(StrEnum):
    """What a standard error of measurement rests on, besides a client's own sets."""

    STUDY = "study"
    STATED = "stated"


@dataclass(frozen=True, slots=True)
class Sem:
    """A standard error of measurement, in the unit of its measure.

    ``own_freedom`` is how many degrees of freedom of it come from the client's own sets.
    """

    value: float
    basis: Basis
    own_freedom: int = 0


@dataclass(frozen=True, slots=True)
class Repeats:
    """A client's own sets that were filmed again: the sum of squares within them, and its freedom."""

    squares: float = 0.0
    freedom: int = 0


def smallest_detectable_change(sem: float, k1: int, k2: int) -> float:
    """The change between the means of ``k1`` and ``k2`` sessions that error reaches in 1 of 20.

    ``SDC95 = 1.96 · SEM · sqrt(1/k1 + 1/k2)``, in the unit of the SEM, for errors that are normal and
    independent from session to session. For single sessions it is the usual 1.96 · sqrt(2) · SEM
    (Caronni et al. 2024, J NeuroEng Rehabil 21, read in the abstract).
    """
    return NORMAL_95 * sem * math.sqrt(1 / k1 + 1 / k2)


def change_sd(measure: str, sem: Sem, stated: Sequence[float | None]) -> float:
    """The standard uncertainty of the change between two readings of a person from one place.

    Where both readings are as sure as usual and the measure was studied (``data/change.json``), it is
    sqrt(2) · SEM, and more by how far the changes that were studied erred beyond that. Elsewhere the
    change is no surer than the less sure of the readings, whose ``stated`` uncertainties are given.
    """
    known = [sd for sd in stated if sd is not None]
    usual = changes().get(measure)
    of_filming = math.sqrt(2) * sem.value
    if usual is not None and known and max(known) <= AS_SURE * usual.stated:
        return usual.factor * of_filming
    return max(of_filming, *known)


@dataclass(frozen=True, slots=True)
class StudiedChange:
    """The usual ``stated`` uncertainty of a reading, and by what ``factor`` changes between readings as sure
    as that erred beyond sqrt(2) · SEM.
    """

    stated: float
    factor: float


def study_view(yaw_deg: float, side: str = "") -> str:
    """``front``, ``oblique``, ``side`` or ``back``, as the study calls a turn of the body.

    From the side, the arm away from the camera has a view of its own, ``side, far arm``, and ``both`` arms
    measured as one go by it. ``yaw_deg`` is positive where the right side is turned to the camera.
    """
    turned = (yaw_deg + 180) % 360 - 180
    view = next(view for view, end in VIEW_ENDS_DEG.items() if abs(turned) < end)
    far = side in ("both", "left" if turned > 0 else "right")
    return "side, far arm" if view == "side" and far else view


def sem_for(
    measure: str,
    side: str,
    yaw_deg: float | None,
    stated: float | None,
    repeats: Repeats = Repeats(),
) -> Sem | None:
    """The SEM of a measure of an arm or the trunk from a view, as far as known; None where it is not.

    Where the study has nothing, the ``stated`` standard uncertainty of the readings stands in: it
    holds the error that all filmings share as well, and not how much a person varies from day to day.
    ``repeats`` are the client's own sets filmed again.
    """
    known = None if yaw_deg is None else study().get((measure, study_view(yaw_deg, side)))
    basis = Basis.STATED if known is None else Basis.STUDY
    usual = stated if known is None else known
    if usual is None:
        return None
    variance = (STUDY_FREEDOM * usual**2 + repeats.squares) / (STUDY_FREEDOM + repeats.freedom)
    return Sem(math.sqrt(variance), basis, repeats.freedom)


def repeats_of(several: Sequence[Sequence[float]]) -> Repeats:
    """What sets that were filmed again say: each inner sequence has the results of one set."""
    squares = 0.0
    for results in several:
        mean = sum(results) / len(results)
        squares += sum((value - mean) ** 2 for value in results)
    return Repeats(squares, sum(len(results) - 1 for results in several))


@cache
def changes() -> dict[str, StudiedChange]:
    """What made sets beside a signed one showed, by measure."""
    text = (resources.files(__package__) / "data" / "change.json").read_text("utf-8")
    return {
        row["measure"]: StudiedChange(float(row["stated"]), float(row["factor"]))
        for row in json.loads(text)["rows"]
    }


@cache
def study() -> dict[tuple[str, str], float]:
    """The study's SEM by measure and view, in the unit of the measure."""
    text = (resources.files(__package__) / "data" / "sem.json").read_text("utf-8")
    return {(row["measure"], row["view"]): float(row["sem"]) for row in json.loads(text)["rows"]}
