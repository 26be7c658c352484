"""Clothes, hair and skin: what each vertex of a body wears, and the colours of a clip."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.calibration.body import LATERAL, SIDES, Body

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Look:
    """Colours (linear red, green, blue) and the cut of the clothes."""

    skin: Array
    shirt: Array
    shorts: Array
    shoes: Array
    hair: Array
    sleeve: float
    """Where the sleeve ends, as a share of the upper arm (above 1: down the forearm)."""
    leg: float
    """Where the trousers end, as a share of the thigh."""
    looseness_m: float
    hair_line: float


def sample_look(rng: np.random.Generator, most_loose_m: float = 0.022) -> Look:
    """A random look over the range of skin tones, hair and plain clothes."""
    tone = rng.uniform(0, 1)
    light, dark = np.array([0.85, 0.62, 0.51]), np.array([0.20, 0.12, 0.08])
    hair = np.array([[0.05, 0.04, 0.035], [0.16, 0.09, 0.05], [0.42, 0.30, 0.16], [0.6, 0.6, 0.6]])

    def cloth() -> Array:
        grey = rng.uniform(0.04, 0.85)
        return np.clip(grey + rng.normal(0, 0.16, 3), 0.02, 0.92)

    return Look(
        skin=light + (dark - light) * tone + rng.normal(0, 0.02, 3),
        shirt=cloth(),
        shorts=cloth(),
        shoes=cloth(),
        hair=hair[rng.integers(4)],
        sleeve=float(
            rng.choice([0.0, 0.35, 0.5, 0.6, 0.8, 1.9], p=[0.15, 0.2, 0.25, 0.15, 0.1, 0.15])
        ),
        leg=float(rng.choice([0.4, 0.6, 0.9, 2.2], p=[0.25, 0.3, 0.15, 0.3])),
        looseness_m=float(rng.uniform(0.004, most_loose_m)),
        hair_line=float(rng.normal(0, 0.12)),
    )


@dataclass(frozen=True, slots=True)
class Dressed:
    """Rest vertices pushed out by what they wear, normals, and signed masks for the shader."""

    vertices: Array
    normals: Array
    masks: Array
    """(vertices, 6): shirt, shorts, hair, shoes (worn above 0), brow, eye (0 or 1)."""
    eyes: tuple[Array, Array]


def dress(body: Body, look: Look) -> Dressed:
    """Put a look on a body."""
    v, normals = body.vertices, _normals(body)
    part = body.part
    eye = np.char.startswith(part, "eye_front") | np.char.startswith(part, "eye_back")
    head = (
        (part == "head")
        | np.char.startswith(part, "eye")
        | np.isin(part, ("mouth_cavity", "tongue"))
    )
    foot, hand = np.char.startswith(part, "foot"), np.char.startswith(part, "hand")
    arm, leg = _along_limbs(body)
    bare = head | hand | foot
    waist = body.head("spine04")[2] - 0.02
    sleeves = np.where(arm > -8, (look.sleeve - arm) * 0.3, 1.0)
    shirt = np.minimum.reduce(
        [v[:, 2] - waist + 0.12, _neckline(body), sleeves, np.where(bare, -1.0, 1.0)]
    )
    legs = np.where(leg > -8, (look.leg - leg) * 0.4, 1.0)
    shorts = np.minimum.reduce(
        [waist - 0.06 - v[:, 2], legs, np.where(head | hand | foot | (arm > -8), -1.0, 1.0)]
    )
    shoes = np.where(foot & (v[:, 2] < body.head("foot.L")[2] + 0.03), 0.01, -0.01)
    hair, brow = _hair(body, head, look.hair_line)

    def thick(mask: Array, over: float) -> Array:
        return np.asarray(np.clip(mask / over, 0, 1))

    out = look.looseness_m * thick(shirt, 0.012)
    out = out + look.looseness_m * thick(shorts, 0.015) * (shirt <= 0)
    out = out + 0.006 * (shoes > 0) + 0.013 * thick(hair, 0.02)
    out = np.where(eye, 0, out)
    masks = np.stack([shirt, shorts, hair, shoes, brow, eye.astype(float)], axis=1)
    return Dressed(
        v + normals * out[:, None], normals, masks, (body.head("eye.L"), body.head("eye.R"))
    )


def _normals(body: Body) -> Array:
    v, f = body.vertices, body.faces
    face = np.cross(v[f[:, 1]] - v[f[:, 0]], v[f[:, 2]] - v[f[:, 0]])
    normals = np.zeros_like(v)
    for corner in range(3):
        np.add.at(normals, f[:, corner], face)
    return np.asarray(normals / (np.linalg.norm(normals, axis=1, keepdims=True) + 1e-12))


def _along_limbs(body: Body) -> tuple[Array, Array]:
    """How far down the arm and the leg each vertex lies (1 = elbow, knee); -9 elsewhere."""
    v = body.vertices
    arm, leg = np.full(len(v), -9.0), np.full(len(v), -9.0)
    hangs_on_arm = body.weight_of(("upperarm", "lowerarm", "wrist", "finger", "metacarpal")) > 0.3
    for side in SIDES:
        mine = np.sign(v[:, 0]) == LATERAL[side][0]
        start = body.head(f"upperarm01.{side}")
        share = (v - start) @ body.rest[side]["upper"]
        share /= body.segment_m(f"upperarm01.{side}", f"lowerarm01.{side}")
        arm[mine & hangs_on_arm] = share[mine & hangs_on_arm]
        hip = body.head(f"upperleg01.{side}")
        share = (v - hip) @ body.rest[side]["thigh"]
        share /= body.segment_m(f"upperleg01.{side}", f"lowerleg01.{side}")
        below = mine & (v[:, 2] < hip[2] + 0.03)
        leg[below] = share[below]
    return arm, leg


def _neckline(body: Body) -> Array:
    d = (body.vertices - body.head("neck01") + np.array([0, 0.02, -0.005])) / np.array(
        [1, 1.15, 0.9]
    )
    return np.asarray(np.linalg.norm(d, axis=1) - 0.088)


def _hair(body: Body, head: NDArray[np.bool_], line_shift: float) -> tuple[Array, Array]:
    v = body.vertices
    left, right = body.head("eye.L"), body.head("eye.R")
    top, back, front = v[head, 2].max(), v[head, 1].max(), v[head, 1].min()
    depth, height = (v[:, 1] - front) / (back - front), (v[:, 2] - left[2]) / (top - left[2])
    line = np.interp(
        depth, [0, 0.18, 0.36, 0.50, 0.56, 0.62, 1], [0.62, 0.6, 0.52, 0.25, -0.15, -0.55, -0.75]
    )
    hair = np.where(body.part == "head", (height - line - line_shift) * 0.08, -1.0)
    ear = (np.abs(v[:, 0]) > 0.072 * (top - left[2]) / 0.115) & (height < 0.25)
    brow = np.zeros(len(v))
    for eye in (left, right):
        up, across = v[:, 2] - eye[2] - 0.021, np.abs(v[:, 0] - eye[0])
        on = (np.abs(up + 0.25 * across) < 0.0055) & (across < 0.023) & head & (depth < 0.45)
        brow = np.maximum(brow, on)
    return np.where(ear, -1.0, hair), brow
