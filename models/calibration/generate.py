"""Make training and judging data: render people, run the pose model, keep landmarks and truth.

    python -m models.calibration.generate --bodies /tmp/bodies --set fit --clips 900 --out DIR

Clip k of a set is made from the seed (set, k) alone, so any part can be made again anywhere. No
video is kept. ``--minutes`` stops early on a slow machine; the same command goes on later, as clips
that are there are not made again.
"""

import argparse
import os
import time
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import moderngl
import numpy as np
from numpy.typing import NDArray

from models.calibration.cameras import NEAR_M
from models.calibration.dress import Look, sample_look
from models.calibration.picture import hide, spoil
from models.calibration.pose_model import landmarks_of
from models.calibration.render import Renderer, bone_matrices, sample_room
from models.calibration.scenes import FREE, SETS, Scene, plan
from models.calibration.shards import Clip, write_shard
from models.calibration.truth import places_of, truth_of

Array = NDArray[np.float64]
Make = Callable[[Path, Any], list[Clip]]
"""What makes the clips of a shard from the pose model's file and an OpenGL context."""
_LOOSE_M = 0.04
_FACE = np.array([0, -0.06, 0.08])
_HEAD_M = 0.15
"""Middle of the face from the head bone, and how far around it a face is hidden, metres."""


def make_clip(bodies: Path, set_name: str, index: int, model: Path, context: Any) -> list[Clip]:  # noqa: ANN401
    """Render a planned clip and read its landmarks."""
    rng = np.random.default_rng([SETS[set_name], index, 1])
    look = sample_look(rng, *((_LOOSE_M,) if set_name in FREE else ()))
    return [film(plan(bodies, set_name, index), look, rng, model, context)]


def film(scene: Scene, look: Look, rng: np.random.Generator, model: Path, context: Any) -> Clip:  # noqa: ANN401
    """Render a scene in some room and read its landmarks."""
    pose = scene.body.solve(scene.motion)
    renderer = Renderer(context, scene.body, look, sample_room(rng))
    renderer.aim(scene.camera)
    bones = bone_matrices(scene.body, pose)[scene.shown]
    draw = _without_face(renderer, scene) if scene.about["face"] != "shown" else renderer.picture
    pictures = spoil(rng, draw, bones, scene.every)
    found = landmarks_of(
        model, pictures, scene.camera.width, scene.camera.height, scene.about["rate_hz"]
    )
    renderer.release()
    truth = truth_of(scene.body, scene.motion, pose, scene.camera)
    places = scene.camera.into(places_of(scene.body, pose))
    kept = (column[scene.shown][:: scene.every] for column in (places, truth))
    return Clip(scene.about, *found, *kept)


def _without_face(renderer: Renderer, scene: Scene) -> Callable[[Array], NDArray[np.uint8]]:
    """A renderer whose pictures have the head made unknowable, as clients do for privacy."""
    head, camera = scene.body.index["head"], scene.camera
    middle = np.append(scene.body.head("head") + _FACE, 1.0)

    def picture(bones: Array) -> NDArray[np.uint8]:
        place = bones[head] @ middle
        radius = _HEAD_M * camera.focal_px / max(float(camera.into(place)[2]), NEAR_M)
        return hide(renderer.picture(bones), camera.project(place), radius, scene.about["face"])

    return picture


def clips_to_make(
    bodies: Path, out: Path, set_name: str, indices: Iterable[int]
) -> Iterator[tuple[Path, Make]]:
    """Each clip of a set as a shard of its own."""
    for index in indices:
        yield out / f"{set_name}_{index:05d}.npz", partial(make_clip, bodies, set_name, index)


def produce(shards: Iterable[tuple[Path, Make]], model: Path, workers: int, minutes: float) -> None:
    """Make the shards that are not there yet, in this order, until the time is up."""
    missing = [(path, make) for path, make in shards if not path.exists()]
    for folder in {path.parent for path, _ in missing}:
        folder.mkdir(parents=True, exist_ok=True)
    started = time.time()
    begin = (model, started + 60 * minutes)
    with get_context("spawn").Pool(workers, _begin, begin) as pool:
        for done, name in enumerate(filter(None, pool.imap_unordered(_make, missing)), 1):
            print(f"{name}: {done} of {len(missing)}, {time.time() - started:.0f} s", flush=True)


_worker: dict[str, Any] = {}
"""What a worker process keeps from shard to shard."""


def _begin(model: Path, deadline: float) -> None:
    os.dup2(os.open(os.devnull, os.O_WRONLY), 2)  # the pose model's native library is talkative
    context = moderngl.create_context(standalone=True, backend="egl", require=330)  # type: ignore[arg-type]
    _worker.update(model=model, deadline=deadline, context=context)


def _make(shard: tuple[Path, Make]) -> str | None:
    """Make a shard, whole or not at all; None once the time is up."""
    path, make = shard
    if time.time() > _worker["deadline"]:
        return None
    unfinished = path.with_name(f".{path.name}")
    write_shard(unfinished, make(_worker["model"], _worker["context"]))
    unfinished.rename(path)
    return path.name


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of every program that renders."""
    parser.add_argument("--bodies", type=Path, required=True)
    parser.add_argument("--model", type=Path, default=Path("models/full.task"))
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=600.0)


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    add_options(parser)
    parser.add_argument("--set", dest="set_name", choices=SETS, required=True)
    parser.add_argument("--clips", type=int, required=True)
    parser.add_argument("--first", type=int, default=0)
    a = parser.parse_args()
    shards = clips_to_make(a.bodies, a.out, a.set_name, range(a.first, a.first + a.clips))
    produce(shards, a.model, a.workers, a.minutes)


if __name__ == "__main__":
    main()
