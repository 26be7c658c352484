"""A set that was done well, and the same person's later ones: done well again, or with one fault.

    python -m models.calibration.signed_sets --bodies /tmp/bodies --out DIR --workers 8

The camera stands about where it stood, as for ``filmed_again.py``; clothes, room and light are others.
Made to read what it gains to judge a set by its change from one that was signed as good. Shards are
named ``PERSON-EXERCISE-KIND.npz``; of the kinds ``signed`` and ``again`` are done well.
"""

import argparse
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from models.calibration.body import SIDES, Body, Motion
from models.calibration.exercises import exercise
from models.calibration.filmed_again import filmed_anew
from models.calibration.generate import Make, add_options, produce
from models.calibration.postures import push_up
from models.calibration.rotations import angle_deg
from models.calibration.scenes import Act, Scene, bodies_of, scene_of
from models.calibration.shards import Clip

Array = NDArray[np.float64]
_SET = "judge"
PEOPLE = (*bodies_of("trial"), *bodies_of("judge"))
EXERCISES = ("side-raise", "scaption-raise", "front-raise", "external-rotation", "circles")
"""Each person does two of these, in turn, and the push-up with a plus."""
HIKE_M, ELBOW_DEG = 0.03, 10.0
"""How large the faults are: of the shoulder's rise, and of the bend of the elbow."""
KINDS = ("signed", "again", "hike", "elbow", "no-plus")
_FRAMES, _SEED = (240, 300), 7
_SEEDS = {**{name: k for k, name in enumerate(EXERCISES)}, "push-up-plus": 9}
_YAWS_DEG = (0.0, 45.0, -45.0, 80.0, -80.0)
_SPREAD_DEG = 12.0


def sets_to_make(bodies: Path, out: Path) -> Iterator[tuple[Path, Make]]:
    """Every set of every person, a shard each."""
    for number, name in enumerate(PEOPLE):
        body = Body(bodies, name)
        for again in range(2):
            wanted = EXERCISES[(2 * number + again) % len(EXERCISES)]
            for kind, scene in _raises(number, again, body, wanted).items():
                yield out / f"{name}-{wanted}-{kind}.npz", partial(_filmed, scene, kind)
        for kind, scene in _push_ups(number, body).items():
            yield out / f"{name}-push-up-plus-{kind}.npz", partial(_filmed, scene, kind)


def _raises(number: int, again: int, body: Body, wanted: str) -> dict[str, Scene]:
    """One exercise of a person who stands, done well and with each fault."""
    rng, done = _done_well(number, again, body, wanted)
    motions = {
        "signed": done,
        "again": done,
        "hike": hiked(done, body),
        "elbow": bent(done, rng.choice([-1, 1]) * ELBOW_DEG),
    }
    yaw = float(rng.choice(_YAWS_DEG) + rng.normal(0, _SPREAD_DEG))
    about = {"posture": "standing", "movement": wanted}
    return _scenes(rng, number, body, motions, about=about, yaw=yaw)


def _done_well(
    number: int, again: int, body: Body, wanted: str
) -> tuple[np.random.Generator, Motion]:
    """The first of the movements that chance makes for this person which is the wanted one, done well."""
    attempt = 0
    while True:
        rng = np.random.default_rng([_SEED, number, again, attempt])
        done = exercise(rng, body, int(rng.integers(*_FRAMES)), lying=False)
        if (done.name, done.fault) == (wanted, "none"):
            return rng, done.motion
        attempt += 1


def _push_ups(number: int, body: Body) -> dict[str, Scene]:
    """Push-ups of a person, with the plus and without."""
    frames = int(np.random.default_rng([_SEED, number]).integers(*_FRAMES))
    faults = {"signed": "none", "again": "none", "no-plus": "no-plus"}
    motions = {
        kind: push_up(np.random.default_rng([_SEED, number, 2]), body, frames, fault)[0]
        for kind, fault in faults.items()
    }
    rng = np.random.default_rng([_SEED, number, 3])
    yaw = float(rng.choice([-90, 90]) + rng.normal(0, _SPREAD_DEG))
    about = {"posture": "push-up", "movement": "push-up-plus"}
    return _scenes(rng, number, body, motions, about=about, yaw=yaw)


def _scenes(
    rng: np.random.Generator,
    number: int,
    body: Body,
    motions: dict[str, Motion],
    *,
    about: dict[str, Any],
    yaw: float,
) -> dict[str, Scene]:
    """A scene for each kind, all before the one camera of the first."""
    scenes = {
        kind: scene_of(rng, _SET, number, Act(body, motion, {**about, "fault": kind}), yaw)
        for kind, motion in motions.items()
    }
    first = scenes["signed"]
    place = {k: first.about[k] for k in first.about if k not in about and k != "fault"}
    return {
        kind: replace(scene, camera=first.camera, about={**scene.about, **place})
        for kind, scene in scenes.items()
    }


def effort(motion: Motion, side: str) -> Array:
    """How far (n,) into its movement an arm is, 0 to 1: by the angle of its segments from their start."""
    arm = motion.arms[side]
    moved = angle_deg(arm.upper, arm.upper[:1]) + angle_deg(arm.fore, arm.fore[:1])
    return np.asarray(moved / max(float(moved.max()), 20.0))


def hiked(motion: Motion, body: Body) -> Motion:
    """The movement with working shoulders that rise by HIKE_M more at its top."""
    lift = {}
    for side in SIDES:
        clavicle = body.segment_m(f"clavicle.{side}", f"upperarm01.{side}")
        most = np.degrees(np.arcsin(HIKE_M / clavicle))
        lift[side] = motion.clavicle_lift[side] + most * effort(motion, side)
    return replace(motion, clavicle_lift=lift)


def bent(motion: Motion, by_deg: float) -> Motion:
    """The movement with elbows bent by so much more at its top, or as far as they go straight."""
    arms = {}
    for side, arm in motion.arms.items():
        more = by_deg * effort(motion, side)
        more = np.maximum(more, -angle_deg(arm.upper, arm.fore) + 0.5)
        arms[side] = replace(arm, fore=_turned(arm.fore, arm.hinge, more))
    return replace(motion, arms=arms)


def _turned(vectors: Array, axes: Array, by_deg: Array) -> Array:
    """Vectors (n, 3) turned about their own unit axes (n, 3), to which they are square."""
    turn = np.radians(by_deg)[:, None]
    return np.asarray(np.cos(turn) * vectors + np.sin(turn) * np.cross(axes, vectors))


def _filmed(scene: Scene, kind: str, model: Path, context: Any) -> list[Clip]:  # noqa: ANN401
    about = scene.about
    seed = [_SEED, about["index"], _SEEDS[about["movement"]], KINDS.index(kind)]
    return [filmed_anew(scene, np.random.default_rng(seed), model, context)]


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    add_options(parser)
    a = parser.parse_args()
    produce(sets_to_make(a.bodies, a.out), a.model, a.workers, a.minutes)


if __name__ == "__main__":
    main()
