"""Exercise-like movement with right and wrong form: repetitions, holds and circles, and faults."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.calibration.body import SIDES, Body, Motion
from models.calibration.motions import (
    HANGING,
    RATE_HZ,
    ArmSampler,
    min_jerk,
    outside_body,
    standing,
    through,
    wander,
)

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Move:
    """One exercise: the arm's angles at rest and at the top, and how far they vary by person."""

    name: str
    rest: tuple[float, ...]
    top: tuple[float, ...]
    spread: tuple[float, ...]
    hold_s: tuple[float, float] = (0.0, 1.5)


_UP = (30.0, 8.0, 8.0, 5.0, 12.0)
_FIXED = (6.0, 10.0, 10.0, 8.0, 12.0)
MOVES = (
    Move("scaption-raise", (9, 35, 0, 8, 10), (120, 35, 5, 8, 10), _UP),
    Move("side-raise", (9, 5, 0, 8, 20), (105, 3, 10, 8, 20), _UP),
    Move("front-raise", (9, 80, 0, 8, 20), (110, 88, 0, 8, 20), _UP),
    Move("elbow-curl", (8, 20, 0, 8, -60), (12, 45, 0, 138, -60), (5, 15, 8, 8, 10)),
    Move("external-rotation", (9, 10, -50, 90, 0), (9, 10, 42, 90, 0), (4, 10, 14, 8, 10)),
    Move("internal-rotation", (9, 10, 25, 90, 0), (9, 10, -55, 90, 0), (4, 10, 12, 8, 10)),
    Move("belly-press", (9, 15, 0, 10, 20), (16, 25, -62, 90, 0), _FIXED, (2.0, 7.0)),
    Move("bear-hug", (9, 15, 0, 10, 20), (90, 97, -82, 105, 30), _FIXED, (2.0, 7.0)),
    Move("lift-off", (32, -48, -104, 92, 20), (34, -48, -124, 96, 20), (5, 6, 6, 7, 8), (2.0, 7.0)),
    Move("behind-back", (9, 15, 0, 10, 20), (32, -48, -104, 92, 20), (5, 6, 6, 7, 8), (1.0, 5.0)),
    Move("high-rotation", (90, 10, 0, 90, 0), (90, 10, 80, 90, 0), (6, 8, 12, 8, 10)),
    Move("overhead-press", (50, 30, 45, 125, 10), (160, 40, 40, 12, 10), (10, 10, 12, 8, 10)),
    Move("row", (55, 88, 0, 10, 0), (35, -75, 0, 95, 0), (8, 8, 8, 12, 10)),
    Move("pull-apart", (88, 88, 0, 8, 0), (88, 5, 10, 8, 0), (6, 8, 8, 5, 10)),
    Move("wall-stretch", (90, 20, 85, 85, 0), (92, -10, 88, 85, 0), (8, 10, 8, 12, 10), (3.0, 8.0)),
    Move("straight-stretch", (80, 40, 20, 10, 0), (92, -20, 30, 10, 0), _FIXED, (3.0, 8.0)),
    Move("cross-body", (80, 80, 0, 30, 0), (88, 122, -20, 45, 0), (6, 6, 10, 15, 10), (2.0, 7.0)),
    Move("wall-slide", (60, 60, 20, 110, 0), (140, 60, 20, 45, 0), (10, 12, 10, 12, 10)),
    Move("arm-overhead-rest", (150, 40, 30, 60, 0), (155, 45, 35, 65, 0), _UP, (4.0, 8.0)),
)
_MOVE = {move.name: move for move in MOVES}
FAULTS = (
    "none",
    "none",
    "none",
    "hike",
    "lean-side",
    "lean-back-forward",
    "turn",
    "half",
    "elbow",
    "plane",
    "drop",
    "shoulder-forward",
)
_TRIES = 8


@dataclass(frozen=True, slots=True)
class Manner:
    """How far people keep to what an exercise mostly looks like."""

    faults: tuple[str, ...] = FAULTS
    several: tuple[float, ...] = ()
    """Chances of none, one, two... faults at once; empty: one drawn from ``faults``."""
    spread: float = 1.0
    """How many times as far they vary from the usual places as most people do."""
    circle_spread: float = 1.0
    unsteady: float = 1.0
    """Up to how many times as much their joints wander."""
    made_up: float = 0.0
    """Share of movements between two places that no known exercise has."""
    tries: int = 1
    """How often a movement that goes through the body is drawn again."""


_MANNERS = {
    "usual": Manner(),
    "loose": Manner(
        (*dict.fromkeys(FAULTS), "hike", "elbow", "elbow", "plane"), (), 2.0, 1.0, 12.0, 0.0, _TRIES
    ),
    "wide": Manner(
        (*FAULTS[3:], "rotation", "elbow", "plane", "turn"),
        (0.12, 0.38, 0.32, 0.18),
        2.0,
        1.5,
        12.0,
        0.25,
        _TRIES,
    ),
}


@dataclass(frozen=True, slots=True)
class Exercise:
    """A clip's movement and what was done wrong in it."""

    motion: Motion
    name: str
    fault: str


def exercise(
    rng: np.random.Generator, body: Body, frames: int, lying: bool, how: str = "usual"
) -> Exercise:
    """A standing (or later laid down) person doing one exercise, perhaps with faults.

    ``how``: "usual", "loose" (mostly with a fault, from and to places further off, with less steady
    joints) or "wide" (with several faults at once, and movements that no known exercise has).
    """
    manner = _MANNERS[how]
    faults = _faults(rng, manner)
    unsteady = np.array([0.5, 0.6, 0.6, 0.5, 1])
    if manner.unsteady > 1:
        unsteady = unsteady * np.exp(rng.uniform(0, np.log(manner.unsteady), 5))
    circles = rng.random() < 0.2
    arms_used = str(rng.choice(["R", "L", "both", "apart"], p=[0.3, 0.3, 0.25, 0.15]))
    angles = {s: _resting(rng, frames) for s in SIDES}
    effort = {s: np.zeros(frames) for s in SIDES}
    move = None if circles else _move(rng, body, manner)
    seed = int(rng.integers(2**32))
    for index, side in enumerate(SIDES):
        if arms_used in SIDES and side != arms_used:
            continue
        source = np.random.default_rng([seed, index if arms_used == "apart" else 0])
        for _ in range(manner.tries):
            angles[side], effort[side] = (
                _repeating(source, frames, faults, move, manner)
                if move
                else _circling(source, frames, faults, lying, manner)
            )
            if manner.tries == 1 or outside_body(body, side, angles[side][:: frames // 8]):
                break
        angles[side] += np.stack([wander(rng, frames, a, 0.8) for a in unsteady], 1)
        angles[side][:, 3] = np.maximum(angles[side][:, 3], 0.5)
    motion = standing(rng, body, angles, restless=0.12)
    _trunk_fault(rng, motion, faults, effort)
    return Exercise(motion, move.name if move else "circles", "+".join(sorted(faults)) or "none")


def _faults(rng: np.random.Generator, manner: Manner) -> frozenset[str]:
    if not manner.several:
        return frozenset({str(rng.choice(manner.faults))} - {"none"})
    count = rng.choice(len(manner.several), p=manner.several)
    return frozenset(str(fault) for fault in rng.choice(manner.faults, count))


def _move(rng: np.random.Generator, body: Body, manner: Manner) -> Move:
    if manner.made_up and rng.random() < manner.made_up:
        sampler = ArmSampler(body, "R", 0.0)
        rest = HANGING if rng.random() < 0.5 else sampler.sample(rng)
        return Move("made-up", tuple(rest), tuple(sampler.sample(rng)), (0.0,) * 5)
    return _MOVE[str(rng.choice([m.name for m in MOVES]))]


def _resting(rng: np.random.Generator, frames: int) -> Array:
    """A quiet hanging arm, or the hand on the hip."""
    base = HANGING + rng.normal(0, [2.5, 8, 8, 5, 8])
    if rng.random() < 0.12:
        base = np.array([25, -40, -80, 110, 20.0]) + rng.normal(0, 6, 5)
    drift = np.stack([wander(rng, frames, 0.6, 0.5) for _ in range(5)], axis=1)
    return np.asarray(np.maximum(base + drift, [1, -90, -115, 0.5, -80]))


def _progress(rng: np.random.Generator, frames: int, hold_s: tuple[float, float]) -> Array:
    """Repetitions as progress 0-1 (n, 1): quiet start, then up, hold, down, pause, again."""
    tempo = float(np.exp(rng.uniform(np.log(0.45), np.log(3.0))))
    count = 2 + int(frames / RATE_HZ / (2 * tempo))
    keys, moves, pauses = [0.0], [0.0], [rng.uniform(0.3, 1.8)]
    hold = rng.uniform(*hold_s)
    for _ in range(count):
        keys += [rng.uniform(0.94, 1.04), rng.uniform(0.0, 0.04)]
        moves += list(tempo * rng.uniform(0.85, 1.2, 2))
        pauses += [hold * rng.uniform(0.8, 1.2), rng.uniform(0.1, 0.9)]
    return through(np.array(keys)[:, None], np.array(moves), np.array(pauses), frames)


def _repeating(
    rng: np.random.Generator, frames: int, faults: frozenset[str], move: Move, manner: Manner
) -> tuple[Array, Array]:
    """Arm angles (n, 5) of repetitions, and the effort (n,) that faults grow with."""
    varied = rng.normal(0, manner.spread, 5) * [2, 8, 6, 4, 10]
    rest = np.array(move.rest, dtype=float) + varied
    top = np.array(move.top, dtype=float) + rng.normal(0, manner.spread, 5) * np.array(move.spread)
    rest[3], top[3] = max(rest[3], 1), max(top[3], 1)
    top[0] = np.clip(top[0], 3, 172)
    progress = _progress(rng, frames, move.hold_s)
    reach = rng.uniform(0.35, 0.7) if "half" in faults else 1.0
    wrong = np.zeros(5)
    if "elbow" in faults:
        wrong[3] = rng.choice([-1, 1]) * rng.uniform(15, 45)
    if "plane" in faults:
        wrong[1] = rng.choice([-1, 1]) * rng.uniform(15, 45)
    if "drop" in faults:
        wrong[0] = rng.choice([-1, 1]) * rng.uniform(10, 30)
    if "rotation" in faults:
        wrong[2] = rng.choice([-1, 1]) * rng.uniform(15, 45)
    angles = rest + (top - rest) * reach * progress + wrong * progress
    low, high = np.array([1, -90, -125, 0.5, -80]), np.array([176, 135, 105, 150, 80])
    return np.clip(angles, low, high), progress[:, 0]


def _circling(
    rng: np.random.Generator, frames: int, faults: frozenset[str], lying: bool, manner: Manner
) -> tuple[Array, Array]:
    """Bent-elbow circles of the upper arm both ways, from and to a hanging arm."""
    centre = np.array([90.0, 80.0] if lying else [70.0, 60.0])
    centre += rng.normal(0, np.array([10, 20]) * manner.circle_spread)
    radius = np.radians(rng.uniform(14, 36) * (0.5 if "half" in faults else 1))
    e, p = np.radians(centre)
    axis = np.array([np.sin(e) * np.cos(p), np.sin(e) * np.sin(p), -np.cos(e)])
    down = np.array([0, 0, -1]) + axis[2] * axis
    down /= np.linalg.norm(down)
    across = np.cross(axis, down)
    turn_s = rng.uniform(1.4, 4.5)
    share = (np.arange(frames) / RATE_HZ - rng.uniform(1.0, 2.0)) / turn_s
    half = frames / RATE_HZ / turn_s / 2
    phase = rng.choice([-1, 1]) * np.where(share < half, share, 2 * half - share)
    phase = np.where(share < 0, 0, phase) * 2 * np.pi
    circle = np.cos(phase)[:, None] * down + np.sin(phase)[:, None] * across
    u = np.cos(radius) * axis + np.sin(radius) * circle
    bend = np.full(frames, np.clip(rng.normal(90, 8 * manner.spread), 40, 135))
    if "elbow" in faults:
        bend = bend + rng.uniform(15, 35) * np.sin(phase + rng.uniform(0, 6.3))
    elevation, plane = np.degrees(np.arccos(-u[:, 2])), np.degrees(np.arctan2(u[:, 1], u[:, 0]))
    torsion = np.full(frames, rng.normal(0, 18 * manner.spread))
    angles = np.stack([elevation, plane, torsion, bend, torsion], axis=1)
    begin = min_jerk(np.arange(frames) / RATE_HZ / 1.0)[:, None]
    return HANGING + (angles - HANGING) * begin, begin[:, 0]


def _trunk_fault(
    rng: np.random.Generator, motion: Motion, faults: frozenset[str], effort: dict[str, Array]
) -> None:
    """Add what the trunk or the girdle does wrong while the arm works."""
    most = np.maximum(effort["L"], effort["R"])
    if "hike" in faults:
        for side in SIDES:
            motion.clavicle_lift[side] += rng.uniform(5, 20) * effort[side]
    if "shoulder-forward" in faults:
        for side in SIDES:
            motion.clavicle_forward[side] += rng.uniform(8, 22) * effort[side]
    if "lean-side" in faults:
        motion.lean_left += rng.choice([-1, 1]) * rng.uniform(6, 24) * most
    if "lean-back-forward" in faults:
        motion.lean_forward += rng.choice([-1, 1]) * rng.uniform(6, 26) * most
    if "turn" in faults:
        motion.turn_left += rng.choice([-1, 1]) * rng.uniform(8, 32) * most
