"""The measure table: one value with its standard uncertainty for each measure at each time."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from importlib import import_module
from typing import TYPE_CHECKING, Any, Literal

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.catalogue.codes import ReasonCode
from formcheck.catalogue.measures import MEASURES, Measure
from formcheck.catalogue.problems import RecordingProblem
from formcheck.catalogue.views import MeasuredView
from formcheck.errors import UsageError

if TYPE_CHECKING:
    import pandas as pd
    import polars as pl

Side = Literal["left", "right"]
SIDES: tuple[Side, Side] = ("left", "right")


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """One measure over time: ``value`` and standard uncertainty ``sd``, (n,), NaN where unknown."""

    value: FloatArray
    sd: FloatArray


FROM_ANYWHERE = frozenset({ReasonCode.NOT_UPRIGHT, ReasonCode.HEAD_RESTS, ReasonCode.NO_PLANE})
"""Reasons of gaps that hold wherever the camera stands."""


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch where a measure cannot be known, and why."""

    start_s: float
    end_s: float
    reason: ReasonCode


@dataclass(frozen=True, slots=True)
class View:
    """How the trunk faces the camera, and where the camera stands (``camera_place.py``).

    ``yaw_deg`` is 0 facing the camera, positive when the subject's right side turns toward it,
    180 with the back to it; ``uncertainty_deg`` is one standard uncertainty. ``camera_distance_m``
    holds for a usual lens, ``camera_elevation_deg`` is counted up from the middle of the body; NaN
    where they are not known.
    """

    name: MeasuredView
    yaw_deg: float
    uncertainty_deg: float
    camera_distance_m: float = float("nan")
    camera_elevation_deg: float = float("nan")


@dataclass(frozen=True, slots=True, eq=False)
class ArmPath:
    """Upper-arm direction over time, for circles.

    ``direction`` (n, 3) is the unit vector shoulder to elbow in the trunk's own axes
    (x lateral away from the body, y forward, z up along the trunk); ``image`` (n, 2) is the elbow
    from the shoulder in the picture in trunk lengths (x right, y up; mirrored for the left arm).
    ``toward_camera`` (n,) is the share of the arm that points at the camera (-1 to 1).
    """

    direction: FloatArray
    image: FloatArray
    toward_camera: FloatArray


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class MeasureTable:
    """Every measure of a clip on one time base.

    ``columns`` maps names such as ``elbow_flexion_right_deg`` or ``trunk_turn_deg`` to a Series;
    ``gaps`` says for a column where it is unknown and why; ``moving_about`` (n,) is True while the
    subject walks or changes place; ``bridged`` (n,) is True where a short gap was filled.
    """

    time_s: FloatArray
    columns: Mapping[str, Series]
    view: View
    arm_paths: Mapping[Side, ArmPath]
    moving_about: BoolArray
    bridged: BoolArray
    gaps: Mapping[str, tuple[Gap, ...]] = field(default_factory=dict)
    problems: tuple[RecordingProblem, ...] = ()

    def series(self, measure: str, side: Side | None = None) -> Series:
        """The column of a measure named without side and unit, as exercises name it.

        Raises KeyError if there is no such measure.
        """
        return self.columns[column_name(measure, side)]

    def between(self, start_s: float, end_s: float) -> "MeasureTable":
        """The same measures of a stretch of the clip only, both ends included."""
        here = (self.time_s >= start_s) & (self.time_s <= end_s)
        return replace(
            self,
            time_s=self.time_s[here],
            columns={
                name: Series(one.value[here], one.sd[here]) for name, one in self.columns.items()
            },
            arm_paths={
                side: ArmPath(path.direction[here], path.image[here], path.toward_camera[here])
                for side, path in self.arm_paths.items()
            },
            moving_about=self.moving_about[here],
            bridged=self.bridged[here],
        )

    def to_arrays(self) -> dict[str, FloatArray]:
        """Plain arrays (n,) by name: ``time_s``, and for each column ``X`` also ``X_sd``.

        ``X`` is in the unit that its name ends with, ``X_sd`` its standard uncertainty (GUM) in the
        same; both are NaN where the measure is not known.
        """
        arrays = {"time_s": self.time_s}
        for name, series in self.columns.items():
            arrays |= {name: series.value, f"{name}_sd": series.sd}
        return arrays

    def to_pandas(self) -> "pd.DataFrame":
        """``to_arrays`` as a pandas frame. Raises UsageError if pandas is not installed."""
        return _installed("pandas").DataFrame(self.to_arrays())

    def to_polars(self) -> "pl.DataFrame":
        """``to_arrays`` as a polars frame. Raises UsageError if polars is not installed."""
        return _installed("polars").DataFrame(self.to_arrays())

    def __repr__(self) -> str:
        span = f", {self.time_s[0]:.1f} to {self.time_s[-1]:.1f} s" if len(self.time_s) else ""
        return (
            f"<MeasureTable: {len(self.time_s)} times{span}, {len(self.columns)} measures, "
            f"view {self.view.name}>"
        )


def _installed(library: str) -> Any:  # noqa: ANN401 - a module
    try:
        return import_module(library)
    except ImportError:
        raise UsageError(
            f"to_{library} needs {library}, which is not installed: pip install {library}, or take "
            "to_arrays"
        ) from None


def column_name(measure: str, side: Side | None = None) -> str:
    """``elbow_flexion``, ``right`` -> ``elbow_flexion_right_deg``; trunk measures take no side.

    Raises KeyError if there is no such measure over time.
    """
    row = MEASURES[measure]
    if not row.over_time or (row.sided and side is None):
        raise KeyError(measure)
    return f"{measure}_{side}_{row.unit}" if row.sided else f"{measure}_{row.unit}"


def measure_of(column: str) -> Measure:
    """The measure that a column is of: the inverse of ``column_name``."""
    without_unit = column.rpartition("_")[0]
    return MEASURES[without_unit.removesuffix("_left").removesuffix("_right")]
