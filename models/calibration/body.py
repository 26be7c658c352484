"""A skinned body: forward kinematics over whole clips at once, and the exact joint angles.

Body axes: +x the subject's left, -y forward, +z up; metres. Arm directions are given in the
thorax's axes, either as vectors or as clinical angles (see ``arm_vectors``).
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from models.calibration.rotations import frames, rotate, swing, twist_deg, unit

Array = NDArray[np.float64]
SIDES = ("L", "R")
X, Y, Z = np.eye(3)
LATERAL = {"L": X, "R": -X}

_SPINE_SHARE = {"spine05": 0.5, "spine04": 0.2, "spine03": 0.2, "spine02": 0.1}
_NECK = ("neck01", "neck02", "neck03", "head")


@dataclass(slots=True)
class Arm:
    """One arm over time: unit directions (n, 3) in thorax axes, and forearm pronation (n,)."""

    upper: Array
    fore: Array
    hinge: Array
    pronation_deg: Array
    hand: Array | None = None
    """Hand rotation (n, 3, 3) in room axes, where the hand is planted on the floor."""


@dataclass(slots=True)
class Motion:
    """Everything that moves, over n frames. Degrees; leans are of the spine over the pelvis."""

    root_turn: Array
    root_place: Array
    arms: dict[str, Arm]
    lean_left: Array
    lean_forward: Array
    turn_left: Array
    neck_forward: Array
    neck_left: Array
    neck_turn: Array
    clavicle_lift: dict[str, Array]
    clavicle_forward: dict[str, Array]
    legs: dict[str, tuple[Array, Array, Array]] = field(default_factory=dict)
    """Thigh and shank directions (n, 3) and foot rotation (n, 3, 3) in pelvis axes."""

    @property
    def frames(self) -> int:
        """Number of frames."""
        return len(self.root_place)


@dataclass(frozen=True, slots=True)
class Pose:
    """Rotations (n, bones, 3, 3) from rest and bone heads (n, bones, 3), in room axes."""

    turns: Array
    heads: Array


class Body:
    """A baked body at rest, and its kinematics."""

    def __init__(self, folder: Path, name: str) -> None:
        shared, own = np.load(folder / "common.npz"), np.load(folder / f"{name}.npz")
        self.name = name
        self.vertices: Array = own["vertices_tenth_mm"].astype(np.float64) / 1e4
        self.heads: Array = own["heads"]
        self.faces = shared["faces"]
        self.parents = [int(p) for p in shared["parents"]]
        self.bones, self.weights = shared["bones"].astype(int), shared["weights"].astype(np.float64)
        self.part = np.array([str(s) for s in shared["part_labels"]])[shared["part"]]
        self.names = [str(n) for n in shared["names"]]
        self.index = {n: i for i, n in enumerate(self.names)}
        self.floor = float(self.vertices[:, 2].min())
        self.settle()

    def settle(self) -> None:
        """Work out what follows from the bone heads; again after they have moved."""
        self.rest = {side: self._rest_of(side) for side in SIDES}
        middle = (self.head("upperarm01.L") + self.head("upperarm01.R")) / 2
        hips = (self.head("upperleg01.L") + self.head("upperleg01.R")) / 2
        self.trunk_m = float(np.linalg.norm(middle - hips))

    def head(self, bone: str) -> Array:
        """Rest position of a bone's head."""
        return np.asarray(self.heads[self.index[bone]])

    def segment_m(self, start: str, end: str) -> float:
        """Rest length between two bone heads."""
        return float(np.linalg.norm(self.head(end) - self.head(start)))

    def _rest_of(self, side: str) -> Mapping[str, Array]:
        def along(a: str, b: str) -> Array:
            return unit(self.head(f"{b}.{side}") - self.head(f"{a}.{side}"))

        upper, fore = along("upperarm01", "lowerarm01"), along("lowerarm01", "wrist")
        return {
            "upper": upper,
            "fore": fore,
            "hinge": unit(np.cross(upper, fore)),
            "thigh": along("upperleg01", "lowerleg01"),
            "shank": along("lowerleg01", "foot"),
        }

    def weight_of(self, prefixes: tuple[str, ...]) -> Array:
        """Share (vertices,) of each vertex that hangs on bones whose names start so."""
        mine = np.array([n.startswith(prefixes) for n in self.names])
        return np.asarray((self.weights * mine[self.bones]).sum(1))

    def solve(self, motion: Motion) -> Pose:
        """Forward kinematics of every frame."""
        n = motion.frames
        local = self._local(motion)
        turns = np.empty((n, len(self.names), 3, 3))
        heads = np.empty((n, len(self.names), 3))
        given: dict[str, Array] = {}
        for bone, (name, parent) in enumerate(zip(self.names, self.parents, strict=True)):
            if parent < 0:
                turns[:, bone] = motion.root_turn
                heads[:, bone] = motion.root_place + motion.root_turn @ self.heads[bone]
                continue
            offset = self.heads[bone] - self.heads[parent]
            heads[:, bone] = heads[:, parent] + turns[:, parent] @ offset
            if name.startswith("upperarm01"):
                thorax = turns[:, self.index["spine01"]]
                given |= self._arm_turns(name[-1], motion, thorax, turns[:, parent])
            elif name.startswith("upperleg01") and name[-1] in motion.legs:
                given |= self._leg_turns(name[-1], motion)
            if name in given:
                turns[:, bone] = given[name]
            elif name in local:
                turns[:, bone] = turns[:, parent] @ local[name]
            else:
                turns[:, bone] = turns[:, parent]
        return Pose(turns, heads)

    def _local(self, motion: Motion) -> dict[str, Array]:
        local = {}
        for name, share in _SPINE_SHARE.items():
            local[name] = (
                rotate(Z, motion.turn_left * share)
                @ rotate(Y, motion.lean_left * share)
                @ rotate(X, motion.lean_forward * share)
            )
        for name in _NECK:
            local[name] = (
                rotate(Z, motion.neck_turn / 4)
                @ rotate(Y, motion.neck_left / 4)
                @ rotate(X, motion.neck_forward / 4)
            )
        for side, sign in (("L", 1), ("R", -1)):
            local[f"clavicle.{side}"] = rotate(Y, -sign * motion.clavicle_lift[side]) @ rotate(
                Z, -sign * motion.clavicle_forward[side]
            )
        return local

    def _arm_turns(
        self, side: str, motion: Motion, thorax: Array, clavicle: Array
    ) -> dict[str, Array]:
        """Rotations of the arm's bones; the twist is spread along the segments as skin does."""
        arm, rest = motion.arms[side], self.rest[side]
        upper, fore, hinge = (
            np.einsum("nij,nj->ni", thorax, v) for v in (arm.upper, arm.fore, arm.hinge)
        )
        upper_turn = frames(upper, hinge) @ frames(rest["upper"], rest["hinge"]).T
        fore_turn = frames(fore, hinge) @ frames(rest["fore"], rest["hinge"]).T
        relative = np.swapaxes(clavicle, 1, 2) @ upper_turn
        swung = swing(np.broadcast_to(rest["upper"], upper.shape), relative @ rest["upper"])
        twist = twist_deg(np.swapaxes(swung, 1, 2) @ relative, rest["upper"])
        pronation = (-1 if side == "L" else 1) * arm.pronation_deg
        hand = fore_turn @ rotate(rest["fore"], pronation) if arm.hand is None else arm.hand
        return {
            f"upperarm01.{side}": clavicle @ swung @ rotate(rest["upper"], twist * 0.4),
            f"upperarm02.{side}": clavicle @ swung @ rotate(rest["upper"], twist * 0.9),
            f"lowerarm01.{side}": fore_turn @ rotate(rest["fore"], pronation * 0.3),
            f"lowerarm02.{side}": fore_turn @ rotate(rest["fore"], pronation * 0.8),
            f"wrist.{side}": hand,
        }

    def _leg_turns(self, side: str, motion: Motion) -> dict[str, Array]:
        thigh, shank, foot = motion.legs[side]
        rest, root = self.rest[side], motion.root_turn
        hinge = np.broadcast_to(X, thigh.shape)
        upper = root @ frames(thigh, hinge) @ frames(rest["thigh"], X).T
        lower = root @ frames(shank, hinge) @ frames(rest["shank"], X).T
        return {
            f"upperleg01.{side}": upper,
            f"upperleg02.{side}": upper,
            f"lowerleg01.{side}": lower,
            f"lowerleg02.{side}": lower,
            f"foot.{side}": root @ foot,
        }


def arm_vectors(side: str, angles: Array) -> Arm:
    """An arm from clinical angles over time, (n, 5) degrees.

    Columns: elevation, 0 hanging to 180 overhead; plane, 0 out to the side, 90 ahead; external
    tilt-and-torsion rotation, 0 with the forearm ahead when the arm hangs bent; elbow flexion;
    pronation.
    """
    e, p, t, k = (np.radians(angles[:, i, None]) for i in range(4))
    lateral = LATERAL[side]
    upper = -np.cos(e) * Z + np.sin(e) * (np.cos(p) * lateral - np.sin(p) * Y)
    turned = swing(np.broadcast_to(-Z, upper.shape), upper)
    bend = np.cos(t) * (turned @ -Y) + np.sin(t) * (turned @ lateral)
    fore = np.cos(k) * upper + np.sin(k) * bend
    return Arm(upper, fore, unit(np.cross(upper, bend)), angles[:, 4])


def reach(body: Body, side: str, shoulder: Array, wrist: Array, hint: Array) -> Arm:
    """The arm whose wrist reaches a target, elbow toward ``hint``; all (n, 3) in thorax axes."""
    a = body.segment_m(f"upperarm01.{side}", f"lowerarm01.{side}")
    b = body.segment_m(f"lowerarm01.{side}", f"wrist.{side}")
    to_wrist = wrist - shoulder
    length = np.minimum(np.linalg.norm(to_wrist, axis=1, keepdims=True), (a + b) * 0.9995)
    axis = unit(to_wrist)
    along = (a**2 - b**2 + length**2) / (2 * length)
    out = np.sqrt(np.maximum(a**2 - along**2, 1e-9))
    side_way = unit(hint - np.sum(hint * axis, axis=1, keepdims=True) * axis)
    elbow = shoulder + along * axis + out * side_way
    upper, fore = unit(elbow - shoulder), unit(shoulder + length * axis - elbow)
    return Arm(upper, fore, unit(np.cross(upper, fore)), np.zeros(len(wrist)))
