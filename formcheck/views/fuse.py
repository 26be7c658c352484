"""One table of measures from two cameras: each view by itself and both together, by how sure each is."""

from collections.abc import Mapping

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.catalogue.codes import ReasonCode
from formcheck.landmarks.track import Joint
from formcheck.measures.angles import POLE_DEG, STRAIGHT_DEG, unit
from formcheck.measures.table import (
    SIDES,
    ArmPath,
    Gap,
    MeasureTable,
    Series,
    Side,
    column_name,
    measure_of,
)
from formcheck.measures.timebase import runs
from formcheck.measures.uncertainty import blend
from formcheck.views.skeleton import PLACE
from formcheck.views.two_views import TwoViews

SINGLE_FACTOR = 1.5
"""How many times its own uncertainty a single view counts with beside two at most: it was learned on
rendered people and is two to three times as wrong on real ones. Read on real people."""
AGREED_FLOOR = 0.75
"""... and at least: two views that agree may err alike. Chosen on 16 rendered people, after a look at the
one real man too. Read on real people."""
LEAST_AGREED = 10
"""Moments that both views must know by themselves for it to be told how far they agree. A proposal."""
TWO_FACTORS: Mapping[str, float] = {
    "elbow_flexion": 1.5,
    "shoulder_elevation": 1.9,
    "plane_of_elevation": 1.5,
    "axial_rotation": 2.5,
    "upper_arm_forward": 1.5,
    "upper_arm_to_vertical": 1.9,
    "hand_height": 1.5,
    "trunk_lean_side": 1.5,
    "trunk_lean_forward": 1.5,
}
"""How many times the uncertainty of the adjustment two views count with. Read on rendered people."""
LEVEL_SD_DEG = 3.0
"""How far the vertical of two propped phones is off. Read on rendered people."""
LEAST_BELIEF = 0.5
"""Two cameras do not tell the plane and the rotation of an arm that one of them sees less surely than
this. A proposal."""
HAND_AT_SHOULDER, HAND_BEHIND = 0.6, 0.12
"""A hand nearer to the other shoulder, or farther behind the trunk, than this share of a trunk's length
hides joints where both cameras read the elevation 17 and the plane 23 degrees wrong.
Read on rendered people."""
_AROUND = frozenset({"plane_of_elevation", "axial_rotation", "upper_arm_forward"})
_FROM_VERTICAL = frozenset({"upper_arm_to_vertical", "trunk_lean_side", "trunk_lean_forward"})
_MIN_GAP_S = 0.25
"""Shorter gaps are not told. A proposal."""


def fused_table(a: MeasureTable, b: MeasureTable, two: TwoViews) -> MeasureTable:
    """The measures at the times of the first camera's table ``a``.

    ``b`` is the second's, by its own clock. Times that only one camera saw are that camera's alone.
    """
    clock = two.joined.clock
    columns = {}
    weak = {side: _hidden(two, side) for side in SIDES}
    for name, own in a.columns.items():
        first, second = own, _at(b.columns[name], b.time_s, clock.of(a.time_s))
        alone = Series(*blend(first.value, first.sd, second.value, second.sd))
        measure = measure_of(name)
        columns[name] = alone
        if measure.name in TWO_FACTORS:
            both = _two_of(two, name, measure.name, weak)
            sd = _single_sd(alone, first, second)
            columns[name] = _combined(alone, sd, _at(both, two.space.time_s, a.time_s))
    columns = _without_meaning(columns)
    return MeasureTable(
        time_s=a.time_s,
        columns=columns,
        view=a.view,
        arm_paths={side: _path(a.arm_paths[side], columns, side) for side in SIDES},
        moving_about=a.moving_about,
        bridged=a.bridged,
        gaps=_gaps(a, columns),
        problems=a.problems,
    )


def _at(series: Series, time_s: FloatArray, wanted_s: FloatArray) -> Series:
    """A series at other times, the nearest known ones on both sides being no further than its step."""
    if len(time_s) < 2:
        return Series(np.full(len(wanted_s), np.nan), np.full(len(wanted_s), np.nan))
    known = np.isfinite(series.value) & np.isfinite(series.sd)
    radians = np.radians(np.where(known, series.value, 0.0))
    jumps = bool(np.any(np.abs(np.diff(radians[known])) > np.pi)) if known.any() else False
    value = np.degrees(np.unwrap(radians)) if jumps else np.where(known, series.value, 0.0)
    after = np.clip(np.searchsorted(time_s, wanted_s), 1, len(time_s) - 1)
    told = known[after] & known[after - 1] & (wanted_s >= time_s[0]) & (wanted_s <= time_s[-1])
    value = np.interp(wanted_s, time_s, value)
    value = (value + 180) % 360 - 180 if jumps else value
    sd = np.interp(wanted_s, time_s, np.where(known, series.sd, 0.0))
    return Series(np.where(told, value, np.nan), np.where(told, sd, np.nan))


def _two_of(
    two: TwoViews, column: str, measure: str, weak: Mapping[Side, tuple[BoolArray, BoolArray]]
) -> Series:
    """What both cameras tell, unknown where they are known to be weak."""
    value, sd = two.values[column], two.sds[column] * TWO_FACTORS[measure]
    if measure in _FROM_VERTICAL:
        sd = np.hypot(sd, LEVEL_SD_DEG)
    hidden = np.zeros(len(value), dtype=bool)
    for side in SIDES:
        if measure_of(column).sided and column == column_name(measure, side):
            unseen, awkward = weak[side]
            hidden = awkward | (unseen & (measure in _AROUND))
    value = np.where(hidden, np.nan, value)
    return Series(value, np.where(np.isfinite(value), sd, np.nan))


def _hidden(two: TwoViews, side: Side) -> tuple[BoolArray, BoolArray]:
    """(n,) each: where a camera hardly sees the arm, and where the hand is where two views are weak."""
    name, other = side.upper(), "RIGHT" if side == "left" else "LEFT"
    arm = [PLACE[Joint[f"{name}_{joint}"]] for joint in ("SHOULDER", "ELBOW", "WRIST")]
    belief = np.minimum(two.joined.a.belief[:, arm], two.joined.b.belief[:, arm]).min(axis=1)
    points = two.space.points_m
    hand, far = points[:, arm[2]], points[:, PLACE[Joint[f"{other}_SHOULDER"]]]
    hips = points[:, [PLACE[Joint.LEFT_HIP], PLACE[Joint.RIGHT_HIP]]].mean(axis=1)
    left, right = (points[:, PLACE[Joint[f"{one}_SHOULDER"]]] for one in ("LEFT", "RIGHT"))
    up = (left + right) / 2 - hips
    length = np.linalg.norm(up, axis=1)
    ahead = unit(np.cross(left - right, up))
    at_shoulder = np.linalg.norm(hand - far, axis=1) < HAND_AT_SHOULDER * length
    behind = np.sum((hand - hips) * ahead, axis=1) < -HAND_BEHIND * length
    return belief < LEAST_BELIEF, np.asarray(at_shoulder | behind)


def _single_sd(alone: Series, first: Series, second: Series) -> FloatArray:
    """What the single views count with beside two, (n,).

    Seen from different sides the errors of one moment differ, so that views which agree all through a
    set by themselves are surer than either says of itself.
    """
    apart = (first.value - second.value + 180) % 360 - 180
    apart = apart[np.isfinite(apart)]
    most = SINGLE_FACTOR * alone.sd
    if len(apart) < LEAST_AGREED:
        return np.asarray(most)
    agreed = SINGLE_FACTOR * np.sqrt(np.mean(apart**2) / 2)
    return np.asarray(np.minimum(most, np.hypot(agreed, AGREED_FLOOR * alone.sd)))


def _combined(alone: Series, single_sd: FloatArray, both: Series) -> Series:
    """Mean by inverse variance; how far the two are apart adds to the uncertainty."""
    weights = [
        np.where(np.isfinite(one.value) & np.isfinite(sd), 1 / sd**2, 0.0)
        for one, sd in ((alone, single_sd), (both, both.sd))
    ]
    total = weights[0] + weights[1]
    share = np.where(total > 0, weights[0] / np.where(total > 0, total, 1.0), np.nan)
    first = np.where(weights[0] > 0, alone.value, both.value)
    second = np.where(weights[1] > 0, both.value, alone.value)
    apart = (first - second + 180) % 360 - 180
    value = second + share * apart
    value = np.where(np.abs(value) > 180, value - np.sign(value) * 360, value)
    sd = np.sqrt(1 / np.where(total > 0, total, np.nan) + share * (1 - share) * apart**2)
    single_only = (weights[0] > 0) & (weights[1] == 0)
    return Series(value, np.where(single_only, alone.sd, sd))


def _without_meaning(columns: dict[str, Series]) -> dict[str, Series]:
    """The plane near hanging and overhead, and the rotation of a straight arm, hidden again."""
    found = dict(columns)
    for side in SIDES:
        elevation = columns[column_name("shoulder_elevation", side)].value
        elbow = columns[column_name("elbow_flexion", side)].value
        for measure, meant in (
            ("plane_of_elevation", (elevation >= POLE_DEG) & (elevation <= 180 - POLE_DEG)),
            ("axial_rotation", elbow >= STRAIGHT_DEG),
        ):
            name = column_name(measure, side)
            own = columns[name]
            found[name] = Series(*(np.where(meant, part, np.nan) for part in (own.value, own.sd)))
    return found


def _path(path: ArmPath, columns: Mapping[str, Series], side: Side) -> ArmPath:
    """The arm's direction by the fused elevation and plane, where both are known."""
    elevation, plane = (
        np.radians(columns[column_name(name, side)].value)
        for name in ("shoulder_elevation", "plane_of_elevation")
    )
    direction = np.stack(
        [np.sin(elevation) * np.cos(plane), np.sin(elevation) * np.sin(plane), -np.cos(elevation)],
        axis=1,
    )
    known = np.isfinite(direction).all(axis=1, keepdims=True)
    return ArmPath(np.where(known, direction, path.direction), path.image, path.toward_camera)


def _gaps(table: MeasureTable, columns: Mapping[str, Series]) -> dict[str, tuple[Gap, ...]]:
    """Of each column, where it is unknown still, with the reason that the first camera's clip has."""
    step_s = float(table.time_s[1] - table.time_s[0]) if len(table.time_s) > 1 else 0.0
    found = {}
    for name, series in columns.items():
        gaps = []
        for start, stop in runs(~np.isfinite(series.value)):
            start_s, end_s = float(table.time_s[start]), float(table.time_s[stop - 1])
            if end_s - start_s + step_s >= _MIN_GAP_S:
                gaps.append(Gap(start_s, end_s, _reason(table, name, start_s, end_s)))
        found[name] = tuple(gaps)
    return found


def _reason(table: MeasureTable, column: str, start_s: float, end_s: float) -> ReasonCode:
    for gap in table.gaps.get(column, ()):
        if gap.start_s <= end_s and gap.end_s >= start_s:
            return gap.reason
    return measure_of(column).unseen
