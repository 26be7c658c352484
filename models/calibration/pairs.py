"""Sets that two phones film at once: the same movement from two places, as two clips of one shard.

    python -m models.calibration.pairs --bodies /tmp/bodies --set pair-judge --pairs 48 --out DIR

The phones stand 40 to 110 degrees apart around the subject, each at a height, distance and slant and
with a lens of its own, and one begins later than the other. ``about["starts_s"]`` is when a clip begins
on the clock that both share, ``about["apart_deg"]`` how far round the second phone stands.
"""

import argparse
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from models.calibration.cameras import sample_yaw_deg
from models.calibration.dress import sample_look
from models.calibration.generate import add_options, film, produce
from models.calibration.motions import RATE_HZ
from models.calibration.scenes import (
    PAIR_SETS,
    POSTURES,
    SETS,
    SHARES,
    Scene,
    act_of,
    body_of,
    low,
    scene_of,
)
from models.calibration.shards import Clip

_FRAMES = (270, 330)
_APART_DEG = (40.0, 110.0)
_LATEST_S = 1.5
"""By how much one phone is at most started, and at most stopped, before the other."""


def plan_pair(folder: Path, set_name: str, index: int) -> tuple[Scene, Scene]:
    """Pair ``index`` of a set: one movement, and what either phone sees of it."""
    rng = np.random.default_rng([SETS[set_name], index])
    body = body_of(folder, set_name, index)
    frames = int(rng.integers(*_FRAMES))
    posture = str(rng.choice(POSTURES, p=SHARES[set_name]))
    yaw = float(rng.uniform(-180, 180)) if low(posture) else sample_yaw_deg(rng)
    act = act_of(rng, set_name, body, frames, posture=posture, yaw=yaw)
    apart = float(rng.choice([-1, 1]) * rng.uniform(*_APART_DEG))
    first, second = (_cut(rng, scene_of(rng, set_name, index, act, y)) for y in (yaw, yaw + apart))
    both = {"apart_deg": round(apart, 1)}
    return (
        replace(first, about={**first.about, **both, "phone": 1}),
        replace(second, about={**second.about, **both, "phone": 2}),
    )


def _cut(rng: np.random.Generator, scene: Scene) -> Scene:
    """A scene from when its phone was started to when it was stopped."""
    latest = round(_LATEST_S * RATE_HZ)
    begin, end = (int(k) for k in rng.integers(0, latest, 2))
    shown = slice(begin, scene.motion.frames - end)
    return replace(scene, shown=shown, about={**scene.about, "starts_s": round(begin / RATE_HZ, 4)})


def make_pair(bodies: Path, set_name: str, index: int, model: Path, context: Any) -> list[Clip]:  # noqa: ANN401
    """Both clips of a pair: the same clothes, each phone's own picture of the room."""
    look = sample_look(np.random.default_rng([SETS[set_name], index, 1]))
    return [
        film(scene, look, np.random.default_rng([SETS[set_name], index, 1 + phone]), model, context)
        for phone, scene in enumerate(plan_pair(bodies, set_name, index), 1)
    ]


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    add_options(parser)
    parser.add_argument("--set", dest="set_name", choices=PAIR_SETS, required=True)
    parser.add_argument("--pairs", type=int, required=True)
    a = parser.parse_args()
    shards = [
        (a.out / f"{a.set_name}_{index:05d}.npz", partial(make_pair, a.bodies, a.set_name, index))
        for index in range(a.pairs)
    ]
    produce(shards, a.model, a.workers, a.minutes)


if __name__ == "__main__":
    main()
