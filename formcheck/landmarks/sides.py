"""Left and right exchanged by the pose model: found over the whole track, and put back.

From one picture to the next a body moves little. Where it moves much less once the names of left and
right are exchanged, the model has exchanged them, and with them front and back.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formcheck.catalogue.arrays import BoolArray, FloatArray, IntArray, SingleArray
from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.landmarks.framing import stretches
from formcheck.landmarks.track import OTHER_SIDE, Joint

EDGE_GAIN = 0.6
"""An exchange begins and ends with pictures in which shoulders, elbows, wrists and hips together move
this much less, in trunk lengths, once the names are exchanged. Of a man whose face is hidden real ones
gain 0.8 to 6 (one 0.2); arms that cross, seen from the side, 0 to 0.7. Read on real people."""
SWITCH_GAIN = 0.3
"""From this gain on a picture counts as a change of the names. Read on real people."""
MANY_SWITCHES, MANY_SWITCHES_PER_S = 4, 1.0
"""With both so many changes and so many a second, nothing tells which names are right: 2.7 to 3.9 a
second in clips of two people whose faces are hidden, at most 0.35 in 131 others. Read on real people."""
EITHER_SHARE = 1 / 3
"""If the rarer names hold for more of the time than this, they may be the right ones. A proposal."""
FACING_WEIGHT = 0.02
"""Cost of a picture in which the body seems to have turned about, in its share of a turn: tells which
of two ways of naming goes on where a change between them was too small to see. A proposal."""
FEET_SHOW = 0.07
"""Toes lower in the picture than heels by this share of the trunk's length point at the camera, higher by
it away from it: of people seen from the front 0.16 to 0.23, half-way to the side 0.1, from behind -0.04 to
-0.16; of those seen from the front whose hidden faces the model takes for backs of heads -0.06 to 0.09. A
camera on the floor shows neither. Read on rendered people."""
FEET_SEEN = 0.5
"""Visibility from which a landmark counts as seen. Common practice, no source."""
BEHIND = -0.2
"""Left shoulder this far to the left of the right one, in trunk lengths: seen from behind, not from the
side. A proposal."""
UPRIGHT = 0.7
"""Of who is upright, shoulders are higher than hips by this share of the trunk's length. A proposal."""
MAX_GAP_S = 0.5
"""Across a longer gap the body may have turned about. A proposal."""
_LEAST_LENGTH_M = 1e-6
"""Keeps a division by a length safe. Mechanical."""
_LEAST_WEIGHT = 0.05
"""Of a pair of joints that are not seen. Mechanical."""
_LEFT = [Joint.LEFT_SHOULDER, Joint.LEFT_ELBOW, Joint.LEFT_WRIST, Joint.LEFT_HIP]
_RIGHT = [Joint.RIGHT_SHOULDER, Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST, Joint.RIGHT_HIP]
_SHOULDERS = [Joint.LEFT_SHOULDER, Joint.RIGHT_SHOULDER]
_HIPS = [Joint.LEFT_HIP, Joint.RIGHT_HIP]
_HEELS = [Joint.LEFT_HEEL, Joint.RIGHT_HEEL]
_TOES = [Joint.LEFT_TOES, Joint.RIGHT_TOES]


@dataclass(frozen=True, slots=True, eq=False)
class Exchange:
    """``exchanged`` (n,) marks the poses in which left and right are exchanged.

    ``unclear`` is True where it cannot be told which poses these are.
    """

    exchanged: BoolArray
    unclear: bool = False


def find_exchange(
    time_s: FloatArray,
    piece: IntArray,
    points: NDArray[np.floating],
    world: SingleArray,
    visibility: SingleArray,
    *,
    face_hidden: bool = False,
) -> Exchange:
    """Where left and right are exchanged.

    Which names are right is told by the feet where the rarer ones may be, if the body was followed
    without a break. If the face was hidden, who seems to be seen from behind may be seen from the front, all
    through the clip: then too only the feet tell.

    Parameters
    ----------
    time_s
        (n,) Times of the poses, seconds.
    piece
        (n,) Number of the tracklet that each pose belongs to.
    points
        (n, 33, 2) Landmarks in the picture, pixels.
    world
        (n, 33, 3) Landmarks in space, metres.
    visibility
        (n, 33) The model's belief in each, 0-1.
    face_hidden
        Whether the face was blurred or covered before the clip was handed on.
    """
    exchanged = np.zeros(len(time_s), dtype=bool)
    if len(time_s) < 2:
        return Exchange(exchanged)
    breaks = np.flatnonzero((np.diff(piece) != 0) | (np.diff(time_s) > MAX_GAP_S)) + 1
    switches, followed_s, all_sure = 0, 0.0, not len(breaks)
    trunk_px = _trunk_px(points, world)
    for run in np.split(np.arange(len(time_s)), breaks):
        kept, crossed = _ways(points[run] / trunk_px, visibility[run])
        facing = _facing(points[run] / trunk_px)
        switches += int((kept - crossed > SWITCH_GAIN).sum())
        followed_s += float(np.ptp(time_s[run]))
        cheapest = _cheapest(kept, crossed, facing)
        exchanged[run] = _sure(cheapest, kept - crossed)
        all_sure &= bool((exchanged[run] == cheapest).all())
    many = switches >= MANY_SWITCHES and switches >= MANY_SWITCHES_PER_S * followed_s
    either = many or bool(exchanged.mean() > EITHER_SHARE)
    own = points[~exchanged] / trunk_px
    faces = float(np.median(_facing(own)))
    feet_agree = faces * _feet(own, visibility[~exchanged]) > 0
    maybe_in_front = face_hidden and faces < BEHIND
    unclear = (either and not (all_sure and feet_agree)) or (maybe_in_front and not feet_agree)
    return Exchange(exchanged, unclear)


def put_back(exchanged: BoolArray, *arrays: SingleArray) -> None:
    """Give the exchanged poses of arrays (n, 33, ...) their own sides again, in place.

    Where they hold places (n, 33, 3), the depth is turned round too: the model that takes left for
    right takes a back for a front.
    """
    for values in arrays:
        values[exchanged] = values[exchanged][:, OTHER_SIDE]
        if values.ndim == 3:
            values[exchanged, :, 2] *= -1


def exchange_problems(
    time_s: FloatArray, exchanged: BoolArray, unclear: bool
) -> tuple[RecordingProblem, ...]:
    """What to tell of exchanged sides: that they were put back, or that nothing can be judged."""
    if unclear:
        return (RecordingProblem(ProblemCode.LEFT_RIGHT_UNKNOWN, fatal=True),)
    spells = stretches(time_s, exchanged, 0.0)
    if not spells:
        return ()
    return (
        RecordingProblem(
            ProblemCode.LEFT_RIGHT_SWAP,
            spells[0][0],
            spells[-1][1],
            params={"times": len(spells)},
            form="once" if len(spells) == 1 else "often",
        ),
    )


def _trunk_px(points: NDArray[np.floating], world: SingleArray) -> float:
    """Usual length of the trunk in the picture, were it square on, by the scale of the whole body."""
    joints = _LEFT + _RIGHT
    shown = np.ptp(points[:, joints], axis=1).max(axis=1)
    own = np.ptp(world[:, joints, :2], axis=1).max(axis=1)
    trunk_m = np.linalg.norm(
        (world[:, Joint.LEFT_SHOULDER] + world[:, Joint.RIGHT_SHOULDER]) / 2
        - (world[:, Joint.LEFT_HIP] + world[:, Joint.RIGHT_HIP]) / 2,
        axis=1,
    )
    return float(np.median(shown) / max(np.median(own), _LEAST_LENGTH_M) * np.median(trunk_m))


def _facing(points: NDArray[np.floating]) -> FloatArray:
    """(n,) How far the left shoulder is to the right of the other in the picture; less than 0 of who is
    seen from behind.
    """
    return np.asarray(points[:, Joint.LEFT_SHOULDER, 0] - points[:, Joint.RIGHT_SHOULDER, 0])


def _feet(points: NDArray[np.floating], visibility: SingleArray) -> int:
    """+1 if the feet (n, 33, 2; in trunk lengths) point at the camera, -1 away from it, 0 if they do
    not tell: hardly seen, seen from the side or from the floor, or not of somebody upright.
    """
    seen = float(np.median(visibility[:, _HEELS + _TOES].min(axis=1)))
    height = float(
        np.median(points[:, _HIPS, 1].mean(axis=1) - points[:, _SHOULDERS, 1].mean(axis=1))
    )
    lower = float(np.median(points[:, _TOES, 1].mean(axis=1) - points[:, _HEELS, 1].mean(axis=1)))
    if seen < FEET_SEEN or height < UPRIGHT or abs(lower) < FEET_SHOW:
        return 0
    return 1 if lower > 0 else -1


def _ways(points: NDArray[np.floating], visibility: SingleArray) -> tuple[FloatArray, FloatArray]:
    """(n,) How far the pairs of joints move from the pose before, as named and with the names
    exchanged, in the unit of ``points``; the pairs that are seen count most. 0 for the first pose.
    """
    left, right = points[:, _LEFT], points[:, _RIGHT]
    seen = np.minimum(visibility[:, _LEFT], visibility[:, _RIGHT])
    weight = np.clip(np.minimum(seen[1:], seen[:-1]), _LEAST_WEIGHT, 1.0)
    weight *= len(_LEFT) / weight.sum(axis=1, keepdims=True)

    def way(to_left: NDArray[np.floating], to_right: NDArray[np.floating]) -> FloatArray:
        apart = np.linalg.norm(to_left[1:] - left[:-1], axis=2)
        apart += np.linalg.norm(to_right[1:] - right[:-1], axis=2)
        return np.concatenate(([0.0], np.sum(weight * apart, axis=1)))

    return way(left, right), way(right, left)


def _cheapest(kept: FloatArray, crossed: FloatArray, facing: FloatArray) -> BoolArray:
    """(n,) The poses with exchanged names, the rarer ones, on the cheapest way through all poses."""
    usual = np.sign(np.median(facing))
    about = FACING_WEIGHT * np.maximum(-usual * facing, 0.0)
    about_exchanged = FACING_WEIGHT * np.maximum(usual * facing, 0.0)
    costs = [about[0], about_exchanged[0]]
    came_from = np.zeros((len(kept), 2), dtype=int)
    for at in range(1, len(kept)):
        ways = [
            [costs[0] + kept[at], costs[1] + crossed[at]],
            [costs[0] + crossed[at], costs[1] + kept[at]],
        ]
        came_from[at] = [int(np.argmin(way)) for way in ways]
        costs = [min(ways[0]) + about[at], min(ways[1]) + about_exchanged[at]]
    state = np.zeros(len(kept), dtype=int)
    state[-1] = int(np.argmin(costs))
    for at in range(len(kept) - 1, 0, -1):
        state[at - 1] = came_from[at, state[at]]
    return np.asarray(state == (state.mean() <= 0.5))


def _sure(exchanged: BoolArray, gain: FloatArray) -> BoolArray:
    """The runs of exchanged poses (n,) whose edges gain enough; the ends of the piece are no edges."""
    sure = np.zeros(len(exchanged), dtype=bool)
    changes = np.flatnonzero(np.diff(exchanged)) + 1
    for run in np.split(np.arange(len(exchanged)), changes):
        edges = [gain[at] for at in (run[0], run[-1] + 1) if 0 < at < len(gain)]
        if exchanged[run[0]] and edges and min(edges) > EDGE_GAIN:
            sure[run] = True
    return sure
