"""What a clip shows, before it is rendered: whose body, which movement, which camera."""

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np

from models.calibration.body import SIDES, Body, Motion, Z
from models.calibration.cameras import Camera, sample_camera, sample_yaw_deg
from models.calibration.exercises import exercise
from models.calibration.motions import RATE_HZ, ArmSampler, random_angles, standing
from models.calibration.people import PEOPLE
from models.calibration.postures import lie, push_up, rest_lower_arm, sit, stoop_and_squat
from models.calibration.rotations import rotate

SETS = {
    "fit": 1,
    "tune": 2,
    "trial": 3,
    "loose": 4,
    "wide": 5,
    "judge": 6,
    "free": 7,
    "free-tune": 8,
    "free-judge": 9,
    "fresh-judge": 10,
    "judge-2": 11,
    "pair-fit": 12,
    "pair-judge": 13,
    "pair-judge-2": 14,
    "judge-3": 15,
}
"""``fit``: bodies b01-b96, all movements. ``loose`` (b97-b192) and ``wide`` (b193-b392), to fit as
well: movements that keep less and less to what exercises mostly look like. ``tune`` (h01-h04) and
``trial`` (h05-h08), to scale uncertainties and choose. ``judge``: h09-h16, looked at last. ``trial``
and ``judge`` show exercise-like movement with and without faults only. The ``free`` sets show what
nobody was asked for: random arms in every second clip, people who stoop, squat, lean and turn,
cameras anywhere and askew, faces made unknowable, loose clothes; ``free`` (b01-b392) to fit,
``free-tune`` (h01-h08) to scale and choose, ``free-judge`` (h09-h16) to judge. ``fresh-judge``:
as ``judge``, of people (h17-h24) who were not looked at when anything was chosen until they had been
read twice; ``judge-2``: of people (h25-h32) who came after that. ``pair-judge`` (h33-h40) and
``pair-fit`` (h41-h56) are filmed by two phones at once (``pairs.py``). ``pair-judge-2`` (h57-h64) and
``judge-3`` (h65-h72) came last."""
FREE = ("free", "free-tune", "free-judge")
PAIR_SETS = ("pair-fit", "pair-judge", "pair-judge-2")
_BODIES = {
    "fit": ("b", 0, 96),
    "loose": ("b", 96, 192),
    "wide": ("b", 192, 392),
    "tune": ("h", 0, 4),
    "trial": ("h", 4, 8),
    "judge": ("h", 8, 16),
    "free": ("b", 0, 392),
    "free-tune": ("h", 0, 8),
    "free-judge": ("h", 8, 16),
    "fresh-judge": ("h", 16, 24),
    "judge-2": ("h", 24, 32),
    "pair-judge": ("h", 32, 40),
    "pair-fit": ("h", 40, 56),
    "pair-judge-2": ("h", 56, 64),
    "judge-3": ("h", 64, 72),
}
_AS_JUDGE = ("judge", "fresh-judge", "judge-2", "judge-3", *PAIR_SETS)
POSTURES = ("standing", "sitting", "supine", "side", "prone", "push-up")
SHARES = {
    "fit": (0.56, 0.06, 0.16, 0.05, 0.05, 0.12),
    "loose": (0.66, 0.08, 0.12, 0.04, 0.04, 0.06),
    "wide": (0.70, 0.08, 0.08, 0.03, 0.03, 0.08),
    "tune": (0.70, 0.08, 0.08, 0.03, 0.03, 0.08),
    "trial": (0.70, 0.08, 0.08, 0.03, 0.03, 0.08),
    **dict.fromkeys(_AS_JUDGE, (0.70, 0.08, 0.08, 0.03, 0.03, 0.08)),
    **dict.fromkeys(FREE, (0.70, 0.12, 0.06, 0.03, 0.03, 0.06)),
}
_RANDOM_SHARE = {
    "fit": 0.4,
    "loose": 0.3,
    "wide": 0.15,
    "tune": 0.4,
    "trial": 0.0,
    **dict.fromkeys(_AS_JUDGE, 0.0),
    **dict.fromkeys(FREE, 0.5),
}
"""Share of clips with random arms rather than exercise-like movement."""
EVERY = {
    "fit": (1, 2, 3),
    "loose": (2, 3, 3),
    "wide": (1, 3, 3, 3, 3),
    "tune": (1, 2, 3),
    "trial": (1,),
    **dict.fromkeys(_AS_JUDGE, (1,)),
    **dict.fromkeys(PAIR_SETS, (2,)),
    **dict.fromkeys(FREE, (1, *[3] * 9)),
}
"""Every how manieth of 30 pictures a second the pose model sees: formcheck looks less often at
slow movement."""
_FRAMES, _FREE_FRAMES = (200, 270), (90, 150)
"""At 30 a second; of people who do anything, more of them and shorter."""
_HOW = {"loose": "loose", "wide": "wide"}
_FREE_HOW = ("usual", "loose", "wide")
_STOOPING, _ANYWHERE = 0.35, 0.7
"""Shares of the ``free`` clips of people who stand."""
_FACES = {"shown": 0.82, "pixels": 0.07, "blur": 0.07, "box": 0.04}
_JOINTS = (
    "head",
    *(
        f"{bone}.{side}"
        for side in SIDES
        for bone in ("upperarm01", "lowerarm01", "wrist", "upperleg01", "lowerleg01")
    ),
)


@dataclass(frozen=True, slots=True)
class Act:
    """Who does what, facing the camera; ``about`` says it in words."""

    body: Body
    motion: Motion
    about: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Scene:
    """A clip before it is rendered: every so manieth of the pictures that are ``shown``."""

    body: Body
    motion: Motion
    camera: Camera
    every: int
    about: dict[str, Any]
    shown: slice = field(default_factory=lambda: slice(None))


def bodies_of(name: str) -> list[str]:
    """Names of the bodies a set is made of."""
    initial, first, end = _BODIES[name]
    return [p.name for p in PEOPLE if p.name.startswith(initial)][first:end]


def body_of(folder: Path, set_name: str, index: int) -> Body:
    """The body of clip ``index`` of a set: they take turns."""
    names = bodies_of(set_name)
    return Body(folder, names[index % len(names)])


def plan(folder: Path, set_name: str, index: int) -> Scene:
    """Clip ``index`` of a set: body, movement and camera."""
    rng = np.random.default_rng([SETS[set_name], index])
    body = body_of(folder, set_name, index)
    free = set_name in FREE
    frames = int(rng.integers(*_FREE_FRAMES if free else _FRAMES))
    yaw = float(rng.uniform(-180, 180)) if free and rng.random() < 0.5 else sample_yaw_deg(rng)
    posture = str(rng.choice(POSTURES, p=SHARES[set_name]))
    if low(posture):
        yaw = float(rng.uniform(-180, 180))
    act = act_of(rng, set_name, body, frames, posture=posture, yaw=yaw)
    return scene_of(rng, set_name, index, act, yaw)


def low(posture: str) -> bool:
    """Whether a body in this posture is near the floor."""
    return posture not in ("standing", "sitting")


def act_of(
    rng: np.random.Generator, set_name: str, body: Body, frames: int, *, posture: str, yaw: float
) -> Act:
    """What somebody of a set does in a posture, as yet turned to the camera."""
    free = set_name in FREE
    if posture == "push-up":
        motion, fault = push_up(rng, body, frames)
        name = "push-up-plus"
    elif rng.random() < _RANDOM_SHARE[set_name]:
        angles = {s: random_angles(rng, ArmSampler(body, s, yaw), frames) for s in SIDES}
        restless = 0.8 if free else 0.45
        motion, name, fault = standing(rng, body, angles, restless), "random", "none"
    else:
        how = str(rng.choice(_FREE_HOW)) if free else _HOW.get(set_name, "usual")
        done = exercise(rng, body, frames, posture == "supine", how)
        motion, name, fault = done.motion, done.name, done.fault
    if posture == "sitting":
        sit(rng, body, motion)
    elif posture == "standing" and free and rng.random() < _STOOPING:
        stoop_and_squat(rng, body, motion)
    elif posture in ("supine", "side", "prone"):
        lie(rng, body, motion, posture)
        rest_lower_arm(motion, body, posture)
    return Act(body, motion, {"posture": posture, "movement": name, "fault": fault})


def turned(motion: Motion, yaw_deg: float) -> Motion:
    """The same movement of somebody turned from the camera, with the right side to it at 90."""
    turn = rotate(Z, np.array([yaw_deg]))[0]
    return replace(
        motion,
        root_turn=turn @ motion.root_turn,
        root_place=motion.root_place @ turn.T,
        arms={
            side: arm if arm.hand is None else replace(arm, hand=turn @ arm.hand)
            for side, arm in motion.arms.items()
        },
    )


def scene_of(rng: np.random.Generator, set_name: str, index: int, act: Act, yaw: float) -> Scene:
    """A camera for what somebody does, turned so far from it."""
    free, body, motion = set_name in FREE, act.body, turned(act.motion, yaw)
    posture = act.about["posture"]
    pose = body.solve(motion)
    joints = pose.heads[::10][:, [body.index[j] for j in _JOINTS]]
    anywhere = free and rng.random() < _ANYWHERE
    camera = sample_camera(rng, joints, low(posture), anywhere=anywhere)
    every = int(rng.choice(EVERY[set_name]))
    about = {
        "set": set_name,
        "index": index,
        "body": body.name,
        **act.about,
        "yaw_deg": round(yaw, 1),
        "distance_m": round(float(np.linalg.norm(camera.place - joints.mean((0, 1)))), 2),
        "camera_height_m": round(float(camera.place[2]), 2),
        "fov_deg": round(camera.fov_deg, 1),
        "width": camera.width,
        "height": camera.height,
        "focal_px": round(camera.focal_px, 2),
        "rate_hz": RATE_HZ / every,
        "face": str(rng.choice(list(_FACES), p=list(_FACES.values()))) if free else "shown",
    }
    return Scene(body, motion, camera, every, about)
