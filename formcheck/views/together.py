"""Two tracks with the measures of each in, one table of both out, or why there is none."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.landmarks.track import LandmarkTrack
from formcheck.measures.measure import measure_track
from formcheck.measures.posture import TRUNK_SHARE_OF_STATURE
from formcheck.measures.table import MeasureTable
from formcheck.views.clocks import Clock
from formcheck.views.fuse import fused_table
from formcheck.views.join import join
from formcheck.views.joined import Joined
from formcheck.views.read import cm_per_m, reader
from formcheck.views.refusal import Refusal, clocks_agree
from formcheck.views.space import rotation_sd_deg, space_of, standard_deviations
from formcheck.views.two_views import TwoViews

USUAL_RESIDUAL = 0.08
"""The residual in trunk lengths that nine in ten stay under of three pairs in four; where a tenth are
further off, what two views tell is as many times less sure. Read on rendered people."""
KnownBy = Literal["sound", "recording times", "movement"]


@dataclass(frozen=True, slots=True, eq=False)
class FitOfViews:
    """How two cameras fit: their clocks, the angle between their lines of sight with its standard
    uncertainty, and by how much of a trunk's length half of all joints are off at most. ``known_by``
    is what tells that both show one set: the offset of the clocks that was heard, when both files say
    that they were begun, or the movement alone.
    ``tracks`` are both with their sides put right.
    """

    clock: Clock
    angle_deg: float
    angle_uncertainty_deg: float
    misfit: float
    known_by: KnownBy
    tracks: tuple[LandmarkTrack, LandmarkTrack]


def measure_together(
    tracks: tuple[LandmarkTrack, LandmarkTrack],
    tables: tuple[MeasureTable, MeasureTable],
    *,
    stature_m: float,
    offset_s: float | None = None,
    stated_s: float | None = None,
) -> tuple[MeasureTable, FitOfViews] | Refusal:
    """The measures of one set that two cameras filmed, at the times of the first one's table.

    ``offset_s`` and ``stated_s`` as in ``join``. What was read of a track whose sides both cameras
    together tell otherwise is read anew.
    """
    joined = join(*tracks, offset_s=offset_s, stated_s=stated_s)
    if isinstance(joined, Refusal):
        return joined
    right = joined.put_right(*tracks)
    first, second = (
        table if track is own else measure_track(track, stature_m=stature_m)
        for track, own, table in zip(right, tracks, tables, strict=True)
    )
    known_by: KnownBy = "sound" if offset_s is not None else "movement"
    if known_by == "movement" and clocks_agree(joined.clock.offset_s, stated_s):
        known_by = "recording times"
    two = two_views(joined, stature_m)
    return fused_table(first, second, two), _fit(joined, known_by, right)


def two_views(joined: Joined, stature_m: float) -> TwoViews:
    """All joints in space and what is told from them, by the subject's stature."""
    space = space_of(joined)
    scale = cm_per_m(space.points_m, TRUNK_SHARE_OF_STATURE * stature_m * 100)
    read = reader(joined.rig, scale)
    values: dict[str, FloatArray] = dict(read(space.points_m))
    residual = joined.fit.residual[np.isfinite(joined.fit.residual)]
    wider = max(float(np.percentile(residual, 90)) / USUAL_RESIDUAL, 1.0)
    sds = standard_deviations(joined, space, read)
    return TwoViews(joined, space, values, {name: wider * sd for name, sd in sds.items()})


def _fit(
    joined: Joined, known_by: KnownBy, tracks: tuple[LandmarkTrack, LandmarkTrack]
) -> FitOfViews:
    return FitOfViews(
        clock=joined.clock,
        angle_deg=joined.rig.angle_deg,
        angle_uncertainty_deg=rotation_sd_deg(joined),
        misfit=float(np.nanmedian(joined.fit.residual)),
        known_by=known_by,
        tracks=tracks,
    )
