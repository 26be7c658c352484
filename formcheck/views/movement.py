"""How a body moves, in three ways that do not depend on where around it a camera stands."""

from dataclasses import dataclass

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.landmarks.track import LandmarkTrack
from formcheck.measures.learned import LearnedArm, learned_estimate
from formcheck.measures.posture import Posture, posture_from
from formcheck.measures.table import SIDES, Side
from formcheck.measures.timebase import low_pass
from formcheck.views.observation import Observation, bone_belief, bone_vectors
from formcheck.views.skeleton import BODY_BONES

RATE_HZ = 30.0
"""Rate at which movements are compared. Mechanical."""
ARMS_HZ, RISE_HZ, BONES_HZ = 1.5, 3.0, 4.0
"""Cutoffs to which the arms' directions, the joints' heights in the picture and the bones in space are
smoothed before their rates are taken: the noisiest most. Chosen on rendered people.
Read on rendered people."""
_LEAST_BELIEF = 0.1
"""An arm that is hardly seen counts down to here. A proposal."""
_LEAST_TIMES = 10
"""Known directions fewer than this tell no movement. Mechanical."""


@dataclass(frozen=True, slots=True, eq=False)
class Movement:
    """Rates of change at n times, ``RATE_HZ`` a second, each with weights of its shape.

    ``arms`` (n, 12): of the ``directions`` (n, 4, 3) of both upper arms and forearms in the trunk's own
    axes, unit vectors, the weights (n, 12);
    ``rises`` (n, j): of the joints' heights in the picture, in trunk lengths, which phones that are
    propped upright share; ``bones`` (n, bones, 3), weights (n, bones): of the bones' directions in the
    camera's space.
    """

    time_s: FloatArray
    directions: FloatArray
    arms: FloatArray
    arms_weight: FloatArray
    rises: FloatArray
    rises_weight: FloatArray
    bones: FloatArray
    bones_weight: FloatArray


def movement_of(track: LandmarkTrack, seen: Observation) -> Movement:
    """How the subject of a track moves; ``seen`` is the track as an observation."""
    times = np.arange(seen.time_s[0], seen.time_s[-1], 1 / RATE_HZ)
    here = seen.at(times)
    posture = posture_from(track)
    learned = learned_estimate(posture)
    arms = [_arm(posture, learned.arms[side], side, times) for side in SIDES]
    directions, weights = (np.concatenate(part, axis=1) for part in zip(*arms, strict=True))
    vectors = bone_vectors(here.world_m)[:, :BODY_BONES]
    length = np.maximum(np.linalg.norm(vectors, axis=2, keepdims=True), 1e-6)
    return Movement(
        time_s=times,
        directions=directions,
        arms=_rates(directions.reshape(len(times), -1), ARMS_HZ),
        arms_weight=np.repeat(weights, 3, axis=1),
        rises=_rates(here.image_px[..., 1] / seen.unit_px, RISE_HZ),
        rises_weight=here.belief**2,
        bones=_rates(np.nan_to_num(vectors / length), BONES_HZ),
        bones_weight=bone_belief(here)[:, :BODY_BONES],
    )


def _arm(
    posture: Posture, arm: LearnedArm, side: Side, times: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Directions (n, 2, 3) of one upper arm and forearm, and their weights (n, 2)."""
    elbow, wrist = (posture.visibility_of(name, side) for name in ("elbow", "wrist"))
    directions, weights = np.zeros((len(times), 2, 3)), np.zeros((len(times), 2))
    for part, (own, belief) in enumerate(
        ((arm.upper, elbow), (arm.fore, np.minimum(elbow, wrist)))
    ):
        known = np.isfinite(own).all(axis=1)
        if known.sum() < _LEAST_TIMES:
            continue
        for axis in range(3):
            directions[:, part, axis] = np.interp(times, posture.time_s[known], own[known, axis])
        told = np.interp(times, posture.time_s, np.where(known, 1.0, 0.0)) > 1 - 1e-6
        shown = np.interp(times, posture.time_s, np.clip(belief, _LEAST_BELIEF, 1.0))
        weights[:, part] = told * shown
    return directions, weights


def _rates(values: FloatArray, cutoff_hz: float) -> FloatArray:
    return np.asarray(np.gradient(low_pass(values, RATE_HZ, cutoff_hz), axis=0) * RATE_HZ)
