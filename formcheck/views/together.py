"""Two tracks with the measures of each in, one table of both out, or why there is none."""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.landmarks.track import LandmarkTrack
from formcheck.measures.posture import TRUNK_SHARE_OF_STATURE
from formcheck.measures.table import MeasureTable
from formcheck.views.clocks import Clock
from formcheck.views.fuse import fused_table
from formcheck.views.join import join
from formcheck.views.joined import Joined
from formcheck.views.read import cm_per_m, reader
from formcheck.views.refusal import Refusal
from formcheck.views.space import rotation_sd_deg, space_of, standard_deviations
from formcheck.views.two_views import TwoViews


@dataclass(frozen=True, slots=True)
class FitOfViews:
    """How two cameras fit: their clocks, the angle between their lines of sight with its standard
    uncertainty, and by how much of a trunk's length half of all joints are off at most. ``told`` is
    True where the offset of the clocks was known beforehand, such as from sound.
    """

    clock: Clock
    angle_deg: float
    angle_uncertainty_deg: float
    misfit: float
    told: bool


def measure_together(
    tracks: tuple[LandmarkTrack, LandmarkTrack],
    tables: tuple[MeasureTable, MeasureTable],
    *,
    stature_m: float,
    offset_s: float | None = None,
) -> tuple[MeasureTable, FitOfViews] | Refusal:
    """The measures of one set that two cameras filmed, at the times of the first one's table.

    ``offset_s`` as in ``join``.
    """
    joined = join(*tracks, offset_s=offset_s)
    if isinstance(joined, Refusal):
        return joined
    two = two_views(joined, stature_m)
    return fused_table(*tables, two), _fit(joined, told=offset_s is not None)


def two_views(joined: Joined, stature_m: float) -> TwoViews:
    """All joints in space and what is told from them, by the subject's stature."""
    space = space_of(joined)
    scale = cm_per_m(space.points_m, TRUNK_SHARE_OF_STATURE * stature_m * 100)
    read = reader(joined.rig, scale)
    values: dict[str, FloatArray] = dict(read(space.points_m))
    return TwoViews(joined, space, values, standard_deviations(joined, space, read))


def _fit(joined: Joined, *, told: bool) -> FitOfViews:
    return FitOfViews(
        clock=joined.clock,
        angle_deg=joined.rig.angle_deg,
        angle_uncertainty_deg=rotation_sd_deg(joined),
        misfit=float(np.nanmedian(joined.fit.residual)),
        told=told,
    )
