"""Sets filmed again: the same movement, the camera put up anew, other clothes, room and light.

    python -m models.calibration.filmed_again --bodies /tmp/bodies --out DIR --workers 8

What comes of them is for ``reliability.py`` to say.
"""

import argparse
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from models.calibration.cameras import Camera
from models.calibration.dress import sample_look
from models.calibration.generate import Make, add_options, film, produce
from models.calibration.motions import RATE_HZ
from models.calibration.reliability import VIEWS, view_of
from models.calibration.scenes import Scene, plan
from models.calibration.shards import Clip

Array = NDArray[np.float64]
SETS, TIMES = 40, 6
_SET = "judge"
EVERY = 3
"""Ten pictures a second: what a set comes to is read over seconds."""
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


def filmings(bodies: Path, out: Path) -> Iterator[tuple[Path, Make]]:
    """Every set as often as it is filmed, a shard each.

    First all sets half as often, so that a run that is cut short says something of many of them.
    """
    scenes = chosen_scenes(bodies, SETS)
    for rounds in (range(TIMES // 2), range(TIMES // 2, TIMES)):
        for number, scene in enumerate(scenes):
            for again in rounds:
                yield out / f"set-{number:02}-{again}.npz", partial(_filmed, scene, again)


def _filmed(scene: Scene, again: int, model: Path, context: Any) -> list[Clip]:  # noqa: ANN401
    return [
        filmed_anew(scene, np.random.default_rng([scene.about["index"], again]), model, context)
    ]


def filmed_anew(scene: Scene, rng: np.random.Generator, model: Path, context: Any) -> Clip:  # noqa: ANN401
    """A scene filmed on another day: the camera put up anew, other clothes, room and light."""
    middle = scene.body.solve(scene.motion).heads.mean((0, 1))
    anew = replace(
        scene,
        camera=put_up_anew(rng, scene.camera, middle),
        every=EVERY,
        about={**scene.about, "rate_hz": RATE_HZ / EVERY},
    )
    return film(anew, sample_look(rng), rng, model, context)


def main() -> None:
    """Read the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    add_options(parser)
    a = parser.parse_args()
    produce(filmings(a.bodies, a.out), a.model, a.workers, a.minutes)


if __name__ == "__main__":
    main()
