"""Sets filmed again: the same movement, the camera put up anew, other clothes, room and light.

    python -m models.calibration.filmed_again --bodies /tmp/bodies --out DIR [--minutes 50]

What comes of them is for ``reliability.py`` to say.
"""

import argparse
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import moderngl
import numpy as np
from numpy.typing import NDArray

from models.calibration.cameras import Camera
from models.calibration.dress import sample_look
from models.calibration.picture import spoil
from models.calibration.pose_model import landmarks_of
from models.calibration.reliability import VIEWS, view_of
from models.calibration.render import Renderer, bone_matrices, sample_room
from models.calibration.scenes import Scene, plan
from models.calibration.shards import Clip, write_shard
from models.calibration.truth import places_of, truth_of

Array = NDArray[np.float64]
SETS, TIMES = 20, 6
_SET = "judge"
_EVERY, _FRAMES = 3, 150
"""Ten pictures a second of the first five seconds: what a set comes to is read over seconds."""
_TURN_SD_DEG, _DISTANCE, _HEIGHT_SD_M, _AIM_SD_M, _ROLL_SD_DEG = 6.0, 0.12, 0.12, 0.08, 1.5
"""How far off its place a phone is when it is put up again where it stood: turn around the person,
share of the distance, height, aim and roll."""


def chosen_scenes(bodies: Path, count: int) -> list[Scene]:
    """Scenes of people who stand and do an exercise; the views take turns."""
    found: dict[str, list[Scene]] = {view: [] for view in VIEWS}
    index = 0
    while min(map(len, found.values())) < count // len(VIEWS):
        scene = plan(bodies, _SET, index)
        of_view = found[view_of(scene.about["yaw_deg"])]
        if scene.about["posture"] == "standing" and len(of_view) < count // len(VIEWS):
            of_view.append(scene)
        index += 1
    return [scene for several in zip(*found.values(), strict=True) for scene in several]


def put_up_anew(rng: np.random.Generator, camera: Camera, middle: Array) -> Camera:
    """The same phone about where it stood, by somebody who puts it up again."""
    turn = np.radians(rng.normal(0, _TURN_SD_DEG))
    c, s = np.cos(turn), np.sin(turn)
    offset = camera.place - middle
    around = np.array([c * offset[0] - s * offset[1], s * offset[0] + c * offset[1], 0.0])
    place = middle + around * rng.uniform(1 - _DISTANCE, 1 + _DISTANCE)
    place[2] = max(camera.place[2] + rng.normal(0, _HEIGHT_SD_M), 0.1)
    away = middle + rng.normal(0, _AIM_SD_M, 3) - place
    away /= np.linalg.norm(away)
    right = np.cross(away, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    roll = np.radians(rng.normal(0, _ROLL_SD_DEG))
    right = np.cos(roll) * right + np.sin(roll) * np.cross(away, right)
    return replace(camera, place=place, axes=np.stack([right, np.cross(away, right), away]))


def film(bodies: Path, out: Path, model: Path, minutes: float) -> None:
    """Render every set as often as it is filmed; one shard a filming, those that are there are kept.

    First all sets half as often, so that a run that is cut short says something of many of them.
    """
    deadline = time.time() + 60 * minutes
    out.mkdir(parents=True, exist_ok=True)
    context = moderngl.create_context(standalone=True, backend="egl", require=330)  # type: ignore[arg-type]
    scenes = chosen_scenes(bodies, SETS)
    for rounds in (range(TIMES // 2), range(TIMES // 2, TIMES)):
        for number, scene in enumerate(scenes):
            for again in rounds:
                shard = out / f"set-{number:02}-{again}.npz"
                if time.time() < deadline and not shard.exists():
                    write_shard(shard, [_filmed(scene, again, model, context)])
                    print(shard.name, scene.about["movement"], scene.about["yaw_deg"], flush=True)


def _filmed(scene: Scene, again: int, model: Path, context: Any) -> Clip:  # noqa: ANN401
    rng = np.random.default_rng([scene.about["index"], again])
    pose = scene.body.solve(scene.motion)
    middle = pose.heads.mean((0, 1))
    camera = put_up_anew(rng, scene.camera, middle)
    renderer = Renderer(context, scene.body, sample_look(rng), sample_room(rng))
    renderer.aim(camera)
    bones = bone_matrices(scene.body, pose)[:_FRAMES]
    pictures = spoil(rng, renderer.picture, bones, _EVERY)
    about = {**scene.about, "again": again, "rate_hz": 30 / _EVERY}
    found = landmarks_of(model, pictures, camera.width, camera.height, about["rate_hz"])
    renderer.release()
    truth = truth_of(scene.body, scene.motion, pose, camera)[:_FRAMES:_EVERY]
    places = camera.into(places_of(scene.body, pose)[:_FRAMES:_EVERY])
    return Clip(about, *found, places, truth)


def main() -> None:
    """Read the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--bodies", type=Path, required=True)
    parser.add_argument("--model", type=Path, default=Path("models/full.task"))
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--minutes", type=float, default=600.0)
    chosen = parser.parse_args()
    film(chosen.bodies, chosen.out, chosen.model, chosen.minutes)


if __name__ == "__main__":
    main()
