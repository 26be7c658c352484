"""The subject's joints in space at all times, and how sure anything told from them is.

The bundle adjustment's own covariance is far too small: the landmarks lie off the joints by what does
not average out. So every joint may be off by a constant in each picture, for the covariance only;
adjusting to such constants made real angles worse.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import BoolArray, FloatArray
from formcheck.measures.timebase import low_pass
from formcheck.views.adjust import adjust
from formcheck.views.equations import normal_equations, residuals_of
from formcheck.views.join import RATE_HZ
from formcheck.views.joined import Joined

BIAS_SD = 0.04
"""Standard deviation of a joint's constant distance from its landmark in a picture, in trunk lengths:
with it 89-98 % of true angles lay within twice the factors of ``fuse``. Read on rendered people."""
BLOCK, STEPS = 200, 8
"""Times that are solved at once, and the steps of it. Mechanical."""
KNOWN_JOINTS = 8
"""Joints that the cameras must know between them for a time to count. A proposal."""
_NUDGE_M = 1e-3
"""Step of the numerical derivatives. Mechanical."""
_STEADY = 1e-3
"""Keeps the equations of a time solvable. Mechanical."""

Reader = Callable[[FloatArray], Mapping[str, FloatArray]]
"""Takes joints (n, j, 3) and gives what is told from them by name, (n,) each."""


@dataclass(frozen=True, slots=True, eq=False)
class Space:
    """Joints (n, j, 3) in the first camera's axes at n times of its clock, NaN where unknown."""

    time_s: FloatArray
    points_m: FloatArray
    known: BoolArray


def space_of(joined: Joined) -> Space:
    """Every joint at every common time, with the cameras and bones as they were found."""
    points = np.concatenate(
        [
            adjust(
                joined.a.take(part),
                joined.b.take(part),
                joined.rig,
                joined.bones_m,
                steps=STEPS,
                cameras=False,
            ).points_m
            for part in _blocks(len(joined.a.time_s))
        ]
    )
    known = np.asarray((joined.a.known | joined.b.known).sum(axis=1) >= KNOWN_JOINTS)
    points[~known] = np.nan
    return Space(joined.a.time_s, low_pass(points, RATE_HZ), known)


def standard_deviations(joined: Joined, space: Space, read: Reader) -> dict[str, FloatArray]:
    """Of everything that ``read`` tells from the joints, (n,) each; NaN where the joints are unknown."""
    shared = _shared_covariance(joined)
    points = np.where(space.known[:, None, None], space.points_m, 2.0)
    slopes = _slopes(points, read)
    names = list(slopes)
    sds: dict[str, list[FloatArray]] = {name: [] for name in names}
    for part in _blocks(len(points)):
        now = residuals_of(
            joined.a.take(part), joined.b.take(part), joined.rig, points[part], joined.bones_m
        )
        equations = normal_equations(now, BIAS_SD)
        own = equations.own + _STEADY * np.eye(equations.own.shape[1])
        slope = np.stack([np.nan_to_num(slopes[name][part]) for name in names], axis=2)
        spread = np.linalg.solve(own, slope)
        by_shared = np.einsum("nis,nik->nks", equations.between, spread, optimize=True)
        variance = np.sum(slope * spread, axis=1)
        variance += np.einsum("nks,st,nkt->nk", by_shared, shared, by_shared, optimize=True)
        for k, name in enumerate(names):
            sds[name].append(np.sqrt(np.maximum(variance[:, k], 0.0)))
    return {
        name: np.where(space.known, np.concatenate(parts), np.nan) for name, parts in sds.items()
    }


def _shared_covariance(joined: Joined) -> FloatArray:
    """Covariance of the cameras, clocks, bones and biases, the joints eliminated."""
    a, b = joined.a.take(joined.keys), joined.b.take(joined.keys)
    now = residuals_of(a, b, joined.rig, joined.fit.points_m, joined.bones_m)
    equations = normal_equations(now, BIAS_SD)
    own = equations.own + _STEADY * np.eye(equations.own.shape[1])
    coupled = np.linalg.solve(own, equations.between)
    reduced = equations.shared - np.einsum("nis,nit->st", equations.between, coupled, optimize=True)
    return np.asarray(np.linalg.pinv(reduced, hermitian=True))


def rotation_sd_deg(joined: Joined) -> float:
    """Standard uncertainty of the angle between the cameras, degrees."""
    spread = np.diag(_shared_covariance(joined))[:3]
    return float(np.degrees(np.sqrt(np.max(spread))))


def _slopes(points_m: FloatArray, read: Reader) -> dict[str, FloatArray]:
    """Derivatives (n, 3j) of what is read by the joints' coordinates."""
    here = read(points_m)
    joints = points_m.shape[1]
    slopes = {name: np.zeros((len(points_m), 3 * joints)) for name in here}
    for place in range(3 * joints):
        nudged = points_m.copy()
        nudged[:, place // 3, place % 3] += _NUDGE_M
        for name, value in read(nudged).items():
            apart = value - here[name]
            if name.endswith("_deg"):
                apart = (apart + 180) % 360 - 180
            slopes[name][:, place] = apart / _NUDGE_M
    return slopes


def _blocks(count: int) -> Iterator[slice]:
    for start in range(0, count, BLOCK):
        yield slice(start, min(start + BLOCK, count))
