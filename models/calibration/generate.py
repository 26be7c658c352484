"""Make training and judging data: render people, run the pose model, keep landmarks and truth.

    python -m models.calibration.generate --bodies /tmp/bodies --set fit --clips 900 --out DIR

Clip k of a set is made from the seed (set, k) alone, so any part can be made again anywhere. No
video is kept. ``--minutes`` stops early on a slow machine; the clips made are listed in the files.
"""

import argparse
import json
import os
import time
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from models.calibration.body import SIDES, Body, Motion, Z
from models.calibration.cameras import Camera, sample_camera, sample_yaw_deg
from models.calibration.exercises import exercise
from models.calibration.motions import ArmSampler, random_angles, standing
from models.calibration.people import PEOPLE
from models.calibration.picture import spoil
from models.calibration.postures import lie, push_up, rest_lower_arm, sit
from models.calibration.rotations import rotate
from models.calibration.shards import Clip, write_shard
from models.calibration.truth import truth_of

Array = NDArray[np.float64]
SETS = {"fit": 1, "tune": 2, "judge": 3}
"""``fit``: bodies b*, all movements. ``tune``: h01-h04, to scale uncertainties and choose.
``judge``: h05-h08, exercise-like movement with and without faults only."""
_JOINTS = tuple(
    f"{bone}.{side}"
    for side in SIDES
    for bone in ("upperarm01", "lowerarm01", "wrist", "upperleg01", "lowerleg01")
) + ("head",)


@dataclass(frozen=True, slots=True)
class Scene:
    """A clip before it is rendered."""

    body: Body
    motion: Motion
    camera: Camera
    about: dict[str, Any]


def bodies_of(name: str) -> list[str]:
    """Names of the bodies a set is made of."""
    names = [p.name for p in PEOPLE]
    held = [n for n in names if n.startswith("h")]
    return {"fit": [n for n in names if n.startswith("b")], "tune": held[:4], "judge": held[4:]}[
        name
    ]


def plan(folder: Path, set_name: str, index: int) -> Scene:
    """Clip ``index`` of a set: body, movement and camera."""
    rng = np.random.default_rng([SETS[set_name], index])
    names = bodies_of(set_name)
    body = Body(folder, names[index % len(names)])
    frames = int(rng.integers(200, 270))
    yaw = sample_yaw_deg(rng)
    posture = str(
        rng.choice(
            ["standing", "sitting", "supine", "side", "prone", "push-up"],
            p=[0.70, 0.08, 0.08, 0.03, 0.03, 0.08],
        )
    )
    low = posture not in ("standing", "sitting")
    if low:
        yaw = float(rng.uniform(-180, 180))
    random_share = 0.0 if set_name == "judge" else 0.45
    if posture == "push-up":
        motion, fault = push_up(rng, body, frames)
        name = "push-up-plus"
    elif rng.random() < random_share:
        angles = {s: random_angles(rng, ArmSampler(body, s, yaw), frames) for s in SIDES}
        motion, name, fault = standing(rng, body, angles, restless=0.45), "random", "none"
    else:
        done = exercise(rng, body, frames, posture == "supine")
        motion, name, fault = done.motion, done.name, done.fault
    if posture == "sitting":
        sit(rng, body, motion)
    elif posture in ("supine", "side", "prone"):
        lie(rng, body, motion, posture)
        rest_lower_arm(motion, body, posture)
    turn = rotate(Z, yaw)[0]
    motion.root_turn = turn @ motion.root_turn
    motion.root_place = motion.root_place @ turn.T
    for arm in motion.arms.values():
        if arm.hand is not None:
            arm.hand = turn @ arm.hand
    pose = body.solve(motion)
    joints = pose.heads[::10][:, [body.index[j] for j in _JOINTS]]
    camera = sample_camera(rng, joints, low)
    about = {
        "set": set_name,
        "index": index,
        "body": body.name,
        "posture": posture,
        "movement": name,
        "fault": fault,
        "yaw_deg": round(yaw, 1),
        "distance_m": round(float(np.linalg.norm(camera.place - joints.mean((0, 1)))), 2),
        "camera_height_m": round(float(camera.place[2]), 2),
        "fov_deg": round(camera.fov_deg, 1),
        "width": camera.width,
        "height": camera.height,
    }
    return Scene(body, motion, camera, about)


def make_clip(folder: Path, model: Path, set_name: str, index: int, context: Any) -> Clip:  # noqa: ANN401
    """Render a planned clip and read its landmarks."""
    from models.calibration.dress import sample_look
    from models.calibration.pose_model import landmarks_of
    from models.calibration.render import Renderer, bone_matrices, sample_room

    scene = plan(folder, set_name, index)
    rng = np.random.default_rng([SETS[set_name], index, 1])
    pose = scene.body.solve(scene.motion)
    renderer = Renderer(context, scene.body, sample_look(rng), sample_room(rng))
    renderer.aim(scene.camera)
    bones = bone_matrices(scene.body, pose)
    pictures = spoil(rng, renderer.picture, bones)
    image, world, visibility = landmarks_of(
        model, pictures, scene.camera.width, scene.camera.height
    )
    renderer.release()
    truth = truth_of(scene.body, scene.motion, pose, scene.camera)
    return Clip(scene.about, image, world, visibility, truth)


def work(task: tuple[Path, Path, str, list[int], float, Path]) -> str:
    """Make a worker's share of a set and write it as one shard."""
    folder, model, set_name, indices, deadline, out = task
    import moderngl

    log = os.open(os.devnull, os.O_WRONLY)
    os.dup2(log, 2)  # the pose model's native library is talkative
    context = moderngl.create_context(standalone=True, backend="egl", require=330)
    clips: list[Clip] = []
    for index in indices:
        if time.time() > deadline:
            break
        clips.append(make_clip(folder, model, set_name, index, context))
    write_shard(out, clips)
    frames = sum(len(c.truth) for c in clips)
    return f"{out.name}: {len(clips)} clips, {frames} frames"


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--bodies", type=Path, required=True)
    parser.add_argument("--model", type=Path, default=Path("models/full.task"))
    parser.add_argument("--set", dest="set_name", choices=SETS, required=True)
    parser.add_argument("--clips", type=int, required=True)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=600.0)
    parser.add_argument("--out", type=Path, required=True)
    a = parser.parse_args()
    a.out.mkdir(parents=True, exist_ok=True)
    deadline = time.time() + 60 * a.minutes
    tasks = [
        (
            a.bodies,
            a.model,
            a.set_name,
            list(range(a.first + w, a.first + a.clips, a.workers)),
            deadline,
            a.out / f"{a.set_name}_{a.first:05d}_{w:02d}.npz",
        )
        for w in range(a.workers)
    ]
    started = time.time()
    with get_context("spawn").Pool(a.workers) as pool:
        for line in pool.imap_unordered(work, tasks):
            print(json.dumps({"shard": line, "seconds": round(time.time() - started)}), flush=True)


if __name__ == "__main__":
    main()
