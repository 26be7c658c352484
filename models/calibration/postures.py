"""Postures other than standing: sitting, lying three ways, and the push-up."""

import numpy as np
from numpy.typing import NDArray

from models.calibration.body import SIDES, Body, Motion, X, Y, Z, arm_vectors, reach
from models.calibration.motions import through, wander
from models.calibration.rotations import frames, rotate, unit

Array = NDArray[np.float64]
LYING = ("supine", "side", "prone")


def sit(rng: np.random.Generator, body: Body, motion: Motion) -> None:
    """Bend hips and knees as on a stool."""
    n = motion.frames
    thigh = unit(np.array([0.0, -1.0, rng.uniform(-0.35, 0.05)]))
    shank = unit(np.array([0.0, rng.uniform(-0.15, 0.2), -1.0]))
    spread = rng.uniform(0.02, 0.3)
    for side, sign in (("L", 1), ("R", -1)):
        out = np.array([sign * spread, 0, 0])
        motion.legs[side] = (
            np.tile(unit(thigh + out), (n, 1)),
            np.tile(shank, (n, 1)),
            np.broadcast_to(np.eye(3), (n, 3, 3)),
        )
    knee = body.head("upperleg01.L") + body.segment_m("upperleg01.L", "lowerleg01.L") * thigh
    ankle = knee + body.segment_m("lowerleg01.L", "foot.L") * shank
    motion.root_place[:, 2] = body.head("foot.L")[2] - body.floor - ankle[2]


def stoop_and_squat(rng: np.random.Generator, body: Body, motion: Motion) -> None:
    """Bend knees and tip the pelvis over the legs, to and fro, as daily life does."""
    n = motion.frames
    knees = _to_and_fro(rng, n, 60.0)
    ahead, aside = _to_and_fro(rng, n, 50.0), rng.choice([-1, 1]) * _to_and_fro(rng, n, 25.0)
    tipped = rotate(Y, aside) @ rotate(X, ahead)
    shank_lean = rng.uniform(0.3, 0.9) * knees
    for side, sign in (("L", 1), ("R", -1)):
        out = np.array([sign * rng.uniform(0.02, 0.25), 0, 0])
        thigh, shank = (
            unit(rotate(X, angle) @ np.array([0.0, 0.0, -1.0]) + out)
            for angle in (-knees, shank_lean)
        )
        back = np.swapaxes(tipped, 1, 2)
        motion.legs[side] = (
            np.einsum("nij,nj->ni", back, thigh),
            np.einsum("nij,nj->ni", back, shank),
            back,
        )
    hip = (body.head("upperleg01.L") + body.head("upperleg01.R")) / 2
    motion.root_turn = tipped
    motion.root_place = motion.root_place + hip - np.einsum("nij,j->ni", tipped, hip)
    drop = (
        body.segment_m("upperleg01.L", "lowerleg01.L") * (1 - np.cos(np.radians(knees))),
        body.segment_m("lowerleg01.L", "foot.L") * (1 - np.cos(np.radians(shank_lean))),
    )
    motion.root_place[:, 2] -= drop[0] + drop[1]


def _to_and_fro(rng: np.random.Generator, n: int, most_deg: float) -> Array:
    """An angle (n,) that moves between random places from 0 to ``most_deg``, or stays near 0."""
    keys = rng.uniform(0, most_deg, (8, 1)) * (rng.random((8, 1)) < 0.7) * (rng.random() < 0.6)
    return through(keys, rng.uniform(0.5, 2.0, 8), rng.uniform(0, 2.0, 8), n)[:, 0]


def lie(rng: np.random.Generator, body: Body, motion: Motion, how: str) -> None:
    """Lay the person down on the back, a side or the belly."""
    flat = {
        "supine": rotate(X, -90)[0],
        "prone": rotate(X, 90)[0],
        "side": rotate(Y, rng.choice([-90, 90]))[0] @ rotate(Z, rng.normal(0, 10))[0],
    }[how]
    if how == "side":
        # On the side with the head to the room's left or right; the yaw turns it later.
        flat = rotate(Z, rng.choice([0, 180]))[0] @ flat
    skin = body.vertices[body.weight_of(("spine", "breast", "root", "head", "neck")) > 0.5]
    lowest = (skin @ flat.T)[:, 2].min()
    n = motion.frames
    motion.root_turn = np.broadcast_to(flat, (n, 3, 3)).copy()
    along = flat @ np.array([0, 0, float(body.head("spine03")[2])])
    motion.root_place = np.tile([-along[0], -along[1], -lowest + 0.01], (n, 1))
    motion.lean_left *= 0.35
    motion.lean_forward *= 0.35
    motion.turn_left *= 0.35
    motion.neck_forward[:] = motion.neck_forward * 0.4 + (8 if how == "supine" else 0)
    _bend_legs(rng, body, motion, how)


def _bend_legs(rng: np.random.Generator, body: Body, motion: Motion, how: str) -> None:
    n = motion.frames
    bend = np.radians(rng.uniform(25, 55)) if how != "prone" and rng.random() < 0.75 else 0.02
    thigh = np.array([0, -np.sin(bend), -np.cos(bend)])
    back = bend * (1.05 if how == "supine" else rng.uniform(0.3, 1.1))
    shank = np.array([0, np.sin(back), -np.cos(back)])
    for side, sign in (("L", 1), ("R", -1)):
        out = np.array([sign * 0.06, 0, 0])
        pointed = 70 if how == "prone" else 60 if how == "supine" and bend > 0.1 else 0
        turn = rotate(X, pointed)[0]
        motion.legs[side] = (
            np.tile(unit(thigh + out), (n, 1)),
            np.tile(shank, (n, 1)),
            np.broadcast_to(turn, (n, 3, 3)),
        )


def rest_lower_arm(motion: Motion, body: Body, how: str) -> None:
    """Keep arms out of the floor: an arm that dips below it is raised until it lies on it."""
    pose = motion.root_turn[0]
    for side in SIDES:
        arm = motion.arms[side]
        upper = body.segment_m(f"upperarm01.{side}", f"lowerarm01.{side}")
        fore = body.segment_m(f"lowerarm01.{side}", f"wrist.{side}")
        shoulder = (pose @ body.head(f"upperarm01.{side}") + motion.root_place[0])[2]
        up = pose.T @ Z
        arm.upper = _lifted(arm.upper, up, (0.04 - shoulder) / upper)
        elbow = shoulder + upper * arm.upper @ up
        arm.fore = _lifted(arm.fore, up, (0.03 - elbow) / fore)
        arm.hinge = unit(np.cross(arm.upper, arm.fore) + 1e-3 * arm.hinge)


def _lifted(direction: Array, up: Array, least: float | Array) -> Array:
    """Directions (n, 3) turned up just far enough to have at least this upward part."""
    least = np.clip(np.broadcast_to(least, (len(direction),)), -1, 0.95)
    part = direction @ up
    flat = unit(direction - part[:, None] * up)
    raised = np.sqrt(1 - least**2)[:, None] * flat + least[:, None] * up
    return np.where((part < least)[:, None], raised, direction)


def push_up(
    rng: np.random.Generator, body: Body, frames_count: int, fault: str | None = None
) -> tuple[Motion, str]:
    """Push-ups on straight legs with hands planted, with or without the plus, sagging or piked.

    ``fault`` is drawn where none is given.
    """
    n = frames_count
    fault = fault or str(rng.choice(["none", "none", "sag", "pike", "half", "no-plus", "hike"]))
    depth = rng.uniform(0.25, 0.5) if fault == "half" else rng.uniform(0.6, 1.0)
    tempo = float(np.exp(rng.uniform(np.log(0.6), np.log(2.0))))
    down, plus = _push_up_phases(rng, n, tempo, held=rng.random() < 0.15)
    bend = {"sag": rng.uniform(8, 24), "pike": -rng.uniform(10, 30)}.get(fault, 0.0)
    hips = bend * (0.6 + 0.4 * down) + wander(rng, n, 0.5, 0.4) + rng.normal(0, 2)
    forward = (0.0 if fault == "no-plus" else rng.uniform(10, 26)) * plus
    motion = _plank(body, hips, forward + rng.normal(0, 2), rng.normal(0, 5))
    if fault == "hike":
        for side in SIDES:
            motion.clavicle_lift[side] = motion.clavicle_lift[side] + rng.uniform(5, 16) * down
    length = body.segment_m("upperarm01.L", "lowerarm01.L") + body.segment_m(
        "lowerarm01.L", "wrist.L"
    )
    height = 0.055 + length * (0.985 - rng.uniform(0.4, 0.52) * depth * down)
    _settle(body, motion, height)
    _plant_hands(rng, body, motion)
    return motion, fault


def _push_up_phases(
    rng: np.random.Generator, n: int, tempo: float, held: bool
) -> tuple[Array, Array]:
    """Depth (n,) and plus (n,), each 0-1; ``held`` stays up in a plank."""
    keys, moves, pauses = [[0.0, 0.0]], [0.0], [rng.uniform(0.3, 1.5)]
    while sum(moves) + sum(pauses) < n / 30 + 1:
        low = [0.0, 0.0] if held else [1.0, 0.0]
        keys += [low, [0, 0], [0, 1], [0, 0]]
        moves += list(tempo * np.array([1.0, 0.9, 0.6, 0.5]) * rng.uniform(0.85, 1.15, 4))
        pauses += [rng.uniform(0, 0.5), 0.0, rng.uniform(0.2, 1.5), rng.uniform(0.1, 0.5)]
    path = through(np.array(keys, dtype=float), np.array(moves), np.array(pauses), n)
    return path[:, 0], path[:, 1]


def _plank(body: Body, hips: Array, forward: Array, head_up: float) -> Motion:
    n = len(hips)
    zero = np.zeros(n)
    legs = {}
    for side in SIDES:
        thigh = body.rest[side]["thigh"]
        straight = unit(np.array([thigh[0] * 0.6, 0, -1]))
        turn = rotate(X, hips)
        legs[side] = (turn @ straight, turn @ straight, turn)
    ahead = np.tile([80.0, 90.0, 0.0, 5.0, 0.0], (n, 1))
    return Motion(
        root_turn=np.broadcast_to(np.eye(3), (n, 3, 3)).copy(),
        root_place=np.zeros((n, 3)),
        arms={s: arm_vectors(s, ahead) for s in SIDES},
        lean_left=zero.copy(),
        lean_forward=-6 - hips * 0.3,
        turn_left=zero.copy(),
        neck_forward=-14 + hips * 0.2 + head_up,
        neck_left=zero.copy(),
        neck_turn=zero.copy(),
        clavicle_lift={s: zero.copy() for s in SIDES},
        clavicle_forward={s: forward.copy() for s in SIDES},
        legs=legs,
    )


def _settle(body: Body, motion: Motion, height: Array) -> None:
    """Tip the body about its toes until the shoulders are at ``height`` (n,)."""
    toe = body.head("toe2-1.L") * np.array([0, 1, 1])
    toe[2] = body.floor + 0.03
    ankle = body.head("foot.L") * np.array([0, 1, 1])
    tip = np.full(motion.frames, 80.0)
    for step in range(6):
        motion.root_turn = rotate(X, tip)
        motion.root_place = np.zeros((motion.frames, 3))
        pose = body.solve(motion)
        foot = body.index["foot.L"]
        toes = pose.turns[:, foot] @ (toe - ankle) + pose.heads[:, foot]
        if step == 5:
            motion.root_place = np.array([0, 0.8, 0.03]) - toes * np.array([0, 1, 1])
            return
        shoulders = sum(pose.heads[:, body.index[f"upperarm01.{s}"]] for s in SIDES) / 2
        offset = shoulders - toes
        radius = np.hypot(offset[:, 1], offset[:, 2])
        wanted = np.arcsin(np.clip(height / radius, -1, 1))
        tip -= np.degrees(wanted - np.arcsin(np.clip((offset[:, 2] + 0.03) / radius, -1, 1)))


def _plant_hands(rng: np.random.Generator, body: Body, motion: Motion) -> None:
    """Arms that keep the hands where they were set down at the start."""
    pose = body.solve(motion)
    thorax = pose.turns[:, body.index["spine01"]]
    wide, ahead = rng.uniform(-0.02, 0.14), rng.uniform(-0.06, 0.08)
    flare = rng.uniform(0.3, 1.2)
    for side, sign in (("L", 1), ("R", -1)):
        shoulder = pose.heads[:, body.index[f"upperarm01.{side}"]]
        spot = np.array([shoulder[0, 0] + sign * wide, shoulder[0, 1] + ahead, 0.055])
        hint = unit(np.array([sign * flare, 1.0, 0.25]))

        def into_thorax(vectors: Array, thorax: Array = thorax) -> Array:
            return np.asarray(np.einsum("nji,nj->ni", thorax, vectors))

        n = motion.frames
        motion.arms[side] = reach(
            body,
            side,
            np.zeros((n, 3)),
            into_thorax(spot - shoulder),
            into_thorax(np.tile(hint, (n, 1))),
        )
        fingers = unit(body.head(f"finger3-1.{side}") - body.head(f"wrist.{side}"))
        knuckles = body.head(f"finger5-1.{side}") - body.head(f"finger2-1.{side}")
        flat = frames(np.array([sign * -0.05, -1, 0.0]), np.array([sign, 0, 0.0]))
        motion.arms[side].hand = np.broadcast_to(flat @ frames(fingers, knuckles).T, (n, 3, 3))
