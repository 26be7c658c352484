"""Make training and judging data: render people, run the pose model, keep landmarks and truth.

    python -m models.calibration.generate --bodies /tmp/bodies --set fit --clips 900 --out DIR

Clip k of a set is made from the seed (set, k) alone, so any part can be made again anywhere. No
video is kept. ``--minutes`` stops early on a slow machine; the clips made are listed in the files.
"""

import argparse
import json
import os
import time
from collections.abc import Callable
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import moderngl
import numpy as np
from numpy.typing import NDArray

from models.calibration.cameras import NEAR_M
from models.calibration.dress import sample_look
from models.calibration.picture import hide, spoil
from models.calibration.pose_model import landmarks_of
from models.calibration.render import Renderer, bone_matrices, sample_room
from models.calibration.scenes import FREE, SETS, Scene, plan
from models.calibration.shards import Clip, write_shard
from models.calibration.truth import places_of, truth_of

Array = NDArray[np.float64]
_LOOSE_M = 0.04
_FACE = np.array([0, -0.06, 0.08])
_HEAD_M = 0.15
"""Middle of the face from the head bone, and how far around it a face is hidden, metres."""


def make_clip(folder: Path, model: Path, set_name: str, index: int, context: Any) -> Clip:  # noqa: ANN401
    """Render a planned clip and read its landmarks."""
    scene = plan(folder, set_name, index)
    rng = np.random.default_rng([SETS[set_name], index, 1])
    pose = scene.body.solve(scene.motion)
    look = sample_look(rng, *((_LOOSE_M,) if set_name in FREE else ()))
    renderer = Renderer(context, scene.body, look, sample_room(rng))
    renderer.aim(scene.camera)
    bones = bone_matrices(scene.body, pose)
    draw = _without_face(renderer, scene) if scene.about["face"] != "shown" else renderer.picture
    pictures = spoil(rng, draw, bones, scene.every)
    image, world, visibility = landmarks_of(
        model, pictures, scene.camera.width, scene.camera.height, scene.about["rate_hz"]
    )
    renderer.release()
    truth = truth_of(scene.body, scene.motion, pose, scene.camera)[:: scene.every]
    places = scene.camera.into(places_of(scene.body, pose)[:: scene.every])
    return Clip(scene.about, image, world, visibility, places, truth)


def _without_face(renderer: Renderer, scene: Scene) -> Callable[[Array], NDArray[np.uint8]]:
    """A renderer whose pictures have the head made unknowable, as clients do for privacy."""
    head, camera = scene.body.index["head"], scene.camera
    middle = np.append(scene.body.head("head") + _FACE, 1.0)

    def picture(bones: Array) -> NDArray[np.uint8]:
        place = bones[head] @ middle
        radius = _HEAD_M * camera.focal_px / max(float(camera.into(place)[2]), NEAR_M)
        return hide(renderer.picture(bones), camera.project(place), radius, scene.about["face"])

    return picture


def work(task: tuple[Path, Path, str, list[int], float, Path]) -> str:
    """Make a worker's share of a set and write it as one shard."""
    folder, model, set_name, indices, deadline, out = task
    log = os.open(os.devnull, os.O_WRONLY)
    os.dup2(log, 2)  # the pose model's native library is talkative
    context = moderngl.create_context(standalone=True, backend="egl", require=330)  # type: ignore[arg-type]
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
