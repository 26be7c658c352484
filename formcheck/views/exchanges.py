"""Where the pose model took the left side for the right, told by both cameras together.

One camera's continuity cannot say which of two stretches is the exchanged one; two cameras that stand
still can: exchanged joints lie off their epipolar lines.
"""

from dataclasses import replace

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.landmarks.sides import put_back
from formcheck.landmarks.track import Joint, LandmarkTrack
from formcheck.views.observation import Observation
from formcheck.views.rig import Rig
from formcheck.views.skeleton import MIRRORED, PLACE

LINE_SHARE = 0.042
"""How far a joint may lie off its epipolar line at little cost, in trunk lengths: 1.4 times the
standard deviation of a landmark. A proposal."""
JUMP_SHARE = 0.15
"""How far a joint may go within a thirtieth of a second at little cost, in trunk lengths.
A proposal."""
EXCHANGED_COST, TURN_COST = 0.3, 1.0
"""Cost of a time that is exchanged, and of each change between exchanged and not. A proposal."""
_VOTING = [place for joint, place in PLACE.items() if joint is not Joint.NOSE]
_STATES = np.array([(0, 0), (1, 0), (0, 1), (1, 1)], dtype=bool)


def exchanged_sides(
    a: Observation, b: Observation, rig: Rig | None = None
) -> tuple[BoolArray, BoolArray]:
    """(n,) each: where left and right of ``a`` and of ``b`` are to be exchanged.

    The cheapest way through all times (Viterbi 1967), by the rig and by continuity; without a rig by
    continuity alone.
    """
    if len(a.time_s) == 0:
        return np.zeros(0, dtype=bool), np.zeros(0, dtype=bool)
    cost = np.zeros((len(a.time_s), len(_STATES)))
    if rig is not None:
        same, other = _off_lines(a, b, rig), _off_lines(a, _mirrored(b), rig)
        cost[:] = np.where(_STATES[:, 0] == _STATES[:, 1], same[:, None], other[:, None])
    cost += EXCHANGED_COST * _STATES.sum(axis=1)
    changes = sum(
        np.where(
            _STATES[:, None, camera] == _STATES[None, :, camera],
            kept[:, None, None],
            turned[:, None, None] + TURN_COST,
        )
        for camera, (kept, turned) in enumerate((_jumps(a), _jumps(b)))
    )
    path = _cheapest(cost, np.asarray(changes))
    return _STATES[path, 0], _STATES[path, 1]


def with_sides(track: LandmarkTrack, time_s: FloatArray, flags: BoolArray) -> LandmarkTrack:
    """The track with left and right put back where ``flags`` (n,), at times (n,) of its clock, say so."""
    if not flags.any():
        return track
    wrong = np.interp(track.time_s, time_s, flags.astype(float), left=0.0, right=0.0) > 0.5
    arrays = [one.copy() for one in (track.image_px, track.world_m, track.visibility)]
    put_back(wrong, *arrays)
    image_px, world_m, visibility = arrays
    exchanged = np.isin(np.arange(len(wrong)), track.exchanged) ^ wrong
    return replace(
        track,
        image_px=image_px,
        world_m=world_m,
        visibility=visibility,
        exchanged=np.flatnonzero(exchanged),
    )


def _cheapest(cost: FloatArray, changes: FloatArray) -> np.ndarray:
    """The states (n,) of least cost: ``cost`` (n, s) at a time, ``changes`` (n-1, s, s) between."""
    back = np.zeros(cost.shape, dtype=int)
    total = cost[0]
    for k in range(1, len(cost)):
        ways = total[:, None] + changes[k - 1]
        back[k] = ways.argmin(axis=0)
        total = ways.min(axis=0) + cost[k]
    path = np.empty(len(cost), dtype=int)
    path[-1] = total.argmin()
    for k in range(len(cost) - 1, 0, -1):
        path[k - 1] = back[k, path[k]]
    return path


def _mirrored(seen: Observation) -> Observation:
    return seen.exchanged(np.ones(len(seen.time_s), dtype=bool))


def _jumps(seen: Observation) -> tuple[FloatArray, FloatArray]:
    """Costs (n-1,) of going on to the next time as it is, and with the sides exchanged."""
    before, after = seen.image_px[:-1], seen.image_px[1:]
    weight = seen.belief[1:] * seen.known[:-1]
    unit = JUMP_SHARE * seen.unit_px
    kept, turned = (
        np.sum(
            (weight * np.log1p((np.linalg.norm(after - place, axis=2) / unit) ** 2))[:, _VOTING],
            axis=1,
        )
        for place in (before, before[:, MIRRORED])
    )
    return kept, turned


def _off_lines(a: Observation, b: Observation, rig: Rig) -> FloatArray:
    """Cost (n,) of how far the joints lie off their epipolar lines."""
    unit = LINE_SHARE * np.sqrt(a.unit_px * b.unit_px)
    weight = np.where(a.known & b.known, np.minimum(a.belief, b.belief), 0.0)
    cost = weight * np.log1p((off_lines_px(a, b, rig) / unit) ** 2)
    return np.asarray(cost[:, _VOTING].sum(axis=1))


def off_lines_px(a: Observation, b: Observation, rig: Rig) -> FloatArray:
    """How far the joints (n, j) of both pictures are from fitting each other: Sampson's distance
    (Hartley & Zisserman 2004, 11.4.3), pixels.
    """
    first, second = (
        np.concatenate([one.image_px / focal, np.ones((*one.image_px.shape[:2], 1))], axis=2)
        for one, focal in zip((a, b), rig.focal_px, strict=True)
    )
    x, y, z = rig.translation_m / np.linalg.norm(rig.translation_m)
    essential = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]]) @ rig.rotation
    in_second, in_first = first @ essential.T, second @ essential
    off = np.abs(np.sum(second * in_second, axis=2))
    slope = (
        np.sum(in_first[..., :2] ** 2, axis=2) / rig.focal_px[0] ** 2
        + np.sum(in_second[..., :2] ** 2, axis=2) / rig.focal_px[1] ** 2
    )
    return np.asarray(off / np.sqrt(np.maximum(slope, 1e-18)))
