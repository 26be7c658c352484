"""Movements of daily life that are no exercise: what people do with their arms when nobody counts.

Each is a function of time for one or both arms, roughly as people do it, uneven and without returning to
one place; angles in degrees.
"""

from collections.abc import Callable

import numpy as np

from tests.synthetic import Arm, Curve, FloatArray, constant, make_track, through

DURATION_S = 16.0


def sway(middle: float, size: float, period_s: float, seed: int) -> Curve:
    """Goes about ``middle`` by up to ``size`` at uneven pace: three slow waves of unlike length."""
    rng = np.random.default_rng(seed)
    phases, stretch = rng.uniform(0, 2 * np.pi, 3), rng.uniform(0.7, 1.4, 3)

    def curve(t: FloatArray) -> FloatArray:
        waves = [
            np.sin(2 * np.pi * t / (period_s * factor) + phase)
            for factor, phase in zip(stretch * (1.0, 1.7, 0.6), phases, strict=True)
        ]
        return middle + size * np.sum(waves, axis=0) / 2

    return curve


def place(elevation: float, plane: float, rotation: float, elbow: float) -> Arm:
    return Arm(*(constant(float(angle)) for angle in (elevation, plane, rotation, elbow)))


def moving(seed: int, period_s: float, *about: tuple[float, float]) -> Arm:
    """Elevation, plane, rotation and elbow, each as (middle, size)."""
    return Arm(*(sway(*one, period_s, 4 * seed + k) for k, one in enumerate(about)))


def waving(seed: int) -> dict[str, Arm]:
    return {"right": moving(seed, 1.1, (135, 6), (25, 8), (-60, 25), (45, 20))}


def waving_with_both_arms(seed: int) -> dict[str, Arm]:
    return {
        side: moving(seed, 1.3, (140, 20), (20, 10), (-50, 20), (35, 25))
        for side in ("left", "right")
    }


def talking_with_the_hands(seed: int) -> dict[str, Arm]:
    return {
        "left": moving(seed, 1.6, (30, 10), (45, 20), (30, 25), (85, 20)),
        "right": moving(seed + 9, 1.4, (35, 14), (50, 20), (20, 25), (80, 25)),
    }


def drinking(seed: int) -> dict[str, Arm]:
    rest, sip = place(25, 60, 30, 70), place(50, 70, 35, 135)
    late = seed % 3
    return {
        "right": through(
            [(0, None), (1.5, rest), (3.0 + late, rest), (4.2 + late, sip), (6.5 + late, sip),
             (8.0 + late, rest), (12.0, rest), (13.0, None), (16.0, None)]
        )
    }  # fmt: skip


def combing_hair(seed: int) -> dict[str, Arm]:
    return {"right": moving(seed, 0.9, (115, 12), (60, 15), (-40, 15), (125, 12))}


def telephoning(seed: int) -> dict[str, Arm]:
    ear = place(55, 50, 20, 140)
    return {
        "right": through(
            [(0, None), (1.5 + seed % 2, None), (3.0 + seed % 2, ear), (14.0, ear), (16.0, None)]
        ),
        "left": moving(seed, 2.0, (20, 8), (40, 20), (10, 20), (50, 25)),
    }


def wiping_a_table(seed: int) -> dict[str, Arm]:
    return {"right": moving(seed, 0.8, (45, 12), (65, 35), (20, 20), (45, 20))}


def putting_on_a_jacket(seed: int) -> dict[str, Arm]:
    return {
        "left": moving(seed, 1.9, (60, 35), (30, 50), (0, 50), (70, 45)),
        "right": moving(seed + 5, 2.2, (55, 35), (10, 55), (10, 50), (75, 45)),
    }


def walking(seed: int) -> dict[str, Arm]:
    """On the spot; the arms swing from behind to ahead."""
    swing = lambda sign: lambda t: 20 * np.abs(np.sin(2 * np.pi * t / 1.1)) + 3  # noqa: E731
    ahead = lambda sign: lambda t: 85.0 * sign * np.sign(np.sin(2 * np.pi * t / 1.1))  # noqa: E731
    del seed
    return {
        side: Arm(swing(sign), ahead(sign), constant(0.0), constant(15.0))
        for side, sign in (("left", 1.0), ("right", -1.0))
    }


def clapping(seed: int) -> dict[str, Arm]:
    together = lambda t: 60 + 25 * np.sin(2 * np.pi * t / (0.5 + 0.05 * (seed % 3)))  # noqa: E731
    return {
        side: Arm(constant(40.0), together, constant(50.0), constant(85.0))
        for side in ("left", "right")
    }


def taking_things_from_a_shelf(seed: int) -> dict[str, Arm]:
    shelf, bag = place(125, 70, 0, 25), place(25, 70, 20, 60)
    stops: list[tuple[float, Arm | None]] = [(0, None)]
    at = 1.0
    rng = np.random.default_rng(seed)
    for _ in range(3):
        for pose in (shelf, bag):
            stops += [(at + 1.2, pose), (at + 1.2 + rng.uniform(0.2, 1.2), pose)]
            at = stops[-1][0]
    return {"right": through([*stops, (DURATION_S, None)])}


MOVEMENTS: tuple[Callable[[int], dict[str, Arm]], ...] = (
    waving,
    waving_with_both_arms,
    talking_with_the_hands,
    drinking,
    combing_hair,
    telephoning,
    wiping_a_table,
    putting_on_a_jacket,
    walking,
    clapping,
    taking_things_from_a_shelf,
)  # fmt: skip


def daily_track(movement: Callable[[int], dict[str, Arm]], seed: int, yaw_deg: float):
    """Somebody who does this for a while, standing, seen from somewhere."""
    return make_track(duration_s=DURATION_S, yaw_deg=yaw_deg, **movement(seed))
