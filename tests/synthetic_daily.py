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


def hanging_up_washing(seed: int) -> dict[str, Arm]:
    basket, line = place(40, 80, 10, 30), place(140, 60, -20, 35)
    rng = np.random.default_rng(100 + seed)
    stops: list[tuple[float, Arm | None]] = [(0, None), (1.5, basket)]
    for _ in range(3):
        at = stops[-1][0]
        up, stay = rng.uniform(0.8, 1.6), rng.uniform(1.0, 2.4)
        stops += [(at + up, line), (at + up + stay, line), (at + 2 * up + stay, basket)]
    arm = through([*stops, (DURATION_S, basket)])
    return {"left": arm, "right": arm}


def brushing_teeth(seed: int) -> dict[str, Arm]:
    return {"right": moving(50 + seed, 0.45, (48, 4), (55, 6), (35, 8), (132, 6))}


def stirring_a_pot(seed: int) -> dict[str, Arm]:
    quick = 2 * np.pi / (0.9 + 0.15 * (seed % 3))
    around = lambda t: 40 + 8 * np.sin(quick * t)  # noqa: E731
    across = lambda t: 55 + 14 * np.cos(quick * t)  # noqa: E731
    return {"right": Arm(around, across, constant(25.0), sway(75, 6, 1.1, seed))}


def typing(seed: int) -> dict[str, Arm]:
    return {
        side: moving(60 + seed + k, 0.5, (25, 1.5), (50, 3), (35, 3), (88, 3))
        for k, side in enumerate(("left", "right"))
    }


def opening_a_door(seed: int) -> dict[str, Arm]:
    handle, pulled = place(50, 80, 10, 35), place(25, -20, 20, 85)
    late = 0.7 * (seed % 4)
    return {
        "right": through(
            [(0, None), (2.0 + late, None), (3.1 + late, handle), (3.6 + late, handle),
             (4.8 + late, pulled), (5.4 + late, pulled), (6.5 + late, None), (DURATION_S, None)]
        )
    }  # fmt: skip


def scratching_the_head(seed: int) -> dict[str, Arm]:
    quick = lambda t: 128 + 7 * np.sin(2 * np.pi * t * (2.2 + 0.2 * (seed % 3)))  # noqa: E731
    return {"right": Arm(sway(100, 6, 2.0, seed), sway(40, 8, 2.4, seed), constant(-45.0), quick)}


def pulling_on_a_jumper(seed: int) -> dict[str, Arm]:
    low, crossed, up = place(30, 60, 55, 90), place(70, 95, 60, 110), place(150, 50, -30, 60)
    slow = 1.0 + 0.2 * (seed % 3)
    arm = through(
        [(0, None), (1.5, low), (3.0, low), (3.0 + 1.4 * slow, crossed), (3.0 + 3.0 * slow, up),
         (4.0 + 3.2 * slow, up), (5.2 + 4.0 * slow, low), (13.5, None), (DURATION_S, None)]
    )  # fmt: skip
    return {"left": arm, "right": arm}


def sweeping_the_floor(seed: int) -> dict[str, Arm]:
    return {
        "left": moving(70 + seed, 1.5, (40, 10), (60, 30), (30, 15), (60, 15)),
        "right": moving(73 + seed, 1.5, (25, 8), (40, 35), (35, 15), (85, 15)),
    }


def taking_a_photo(seed: int) -> dict[str, Arm]:
    held = place(65, 75, 15, 95)
    start = 1.0 + 0.8 * (seed % 3)
    arm = through([(0, None), (start, None), (start + 1.3, held), (11.0, held), (12.5, None),
                   (DURATION_S, None)])  # fmt: skip
    return {"left": arm, "right": arm}


def pointing_the_way(seed: int) -> dict[str, Arm]:
    rng = np.random.default_rng(200 + seed)
    stops: list[tuple[float, Arm | None]] = [(0, None)]
    for plane in (10.0, 75.0, 40.0):
        at, there = stops[-1][0] + rng.uniform(0.8, 1.8), place(80, plane, 0, 15)
        stops += [(at, None), (at + 0.9, there), (at + 0.9 + rng.uniform(0.5, 1.5), there)]
        stops += [(stops[-1][0] + 0.9, None)]
    return {"right": through([*stops, (20.0, None)])}


def dancing_a_little(seed: int) -> dict[str, Arm]:
    return {
        "left": moving(80 + seed, 1.2, (50, 30), (40, 30), (10, 40), (80, 30)),
        "right": moving(84 + seed, 1.2, (55, 35), (35, 30), (0, 40), (75, 30)),
    }


def lifting_a_bag(seed: int) -> dict[str, Arm]:
    grip, high = place(20, 60, 0, 10), place(35, 40, 25, 95)
    wait = 0.6 * (seed % 3)
    return {
        "right": through(
            [(0, None), (1.5 + wait, grip), (3.0 + wait, high), (5.0 + wait, high),
             (6.8 + wait, grip), (9.0, None), (DURATION_S, None)]
        )
    }  # fmt: skip


def pouring_from_a_kettle(seed: int) -> dict[str, Arm]:
    held, poured = place(30, 65, 25, 80), place(55, 60, 60, 75)
    slow = 1.0 + 0.3 * (seed % 3)
    stops = [(0, None), (2.0, held), (3.5, held), (3.5 + slow, poured), (7.0 + slow, poured)]
    return {"right": through([*stops, (8.5 + slow, held), (12.5, None), (DURATION_S, None)])}


def closing_a_cupboard(seed: int) -> dict[str, Arm]:
    open_, shut = place(85, 20, -20, 40), place(100, 85, -10, 25)
    at = 2.0 + 0.5 * (seed % 4)
    return {
        "right": through(
            [(0, None), (at, open_), (at + 0.6, open_), (at + 1.7, shut), (at + 2.3, shut),
             (at + 3.6, None), (DURATION_S, None)]
        )
    }  # fmt: skip


def putting_on_a_hat(seed: int) -> dict[str, Arm]:
    chest, head = place(40, 75, 35, 110), place(115, 70, 10, 100)
    at = 1.5 + 0.6 * (seed % 3)
    arm = through([(0, None), (at, chest), (at + 1.2, chest), (at + 2.6, head), (at + 4.4, head),
                   (at + 6.0, None), (DURATION_S, None)])  # fmt: skip
    return {"left": arm, "right": arm}


def greeting_once(seed: int) -> dict[str, Arm]:
    high = place(110, 20, -70, 70)
    at = 3.0 + 0.8 * (seed % 4)
    return {"right": through([(0, None), (at, None), (at + 0.9, high), (at + 1.8, high),
                              (at + 2.9, None), (DURATION_S, None)])}  # fmt: skip


def rubbing_the_neck(seed: int) -> dict[str, Arm]:
    return {"left": moving(120 + seed, 0.8, (105, 6), (45, 10), (-50, 10), (138, 7))}


def hammering_a_nail(seed: int) -> dict[str, Arm]:
    quick = 2 * np.pi / (0.62 + 0.07 * (seed % 4))
    elbow = lambda t: 85 - 30 * np.maximum(np.sin(quick * t), -0.2)  # noqa: E731
    return {
        "right": Arm(sway(60, 5, 1.8, seed), sway(60, 6, 2.2, seed), sway(-10, 8, 1.1, seed), elbow)
    }


def painting_a_wall(seed: int) -> dict[str, Arm]:
    return {"right": moving(130 + seed, 1.7, (105, 30), (70, 25), (-15, 20), (35, 22))}


def turning_pages(seed: int) -> dict[str, Arm]:
    book, turned = place(35, 60, 30, 75), place(35, 95, 55, 85)
    rng = np.random.default_rng(300 + seed)
    stops: list[tuple[float, Arm | None]] = [(0, book)]
    for _ in range(3):
        at = stops[-1][0] + rng.uniform(1.5, 4.5)
        stops += [(at, book), (at + 0.7, turned), (at + 0.9, turned), (at + 1.6, book)]
    hold = through([(0, book), (20.0, book)])
    return {"right": through([*stops, (21.0, book)]), "left": hold}


def throwing_a_ball(seed: int) -> dict[str, Arm]:
    back, out = place(95, -15, -80, 95), place(85, 80, 0, 15)
    rng = np.random.default_rng(400 + seed)
    stops: list[tuple[float, Arm | None]] = [(0, None)]
    for _ in range(2):
        at = stops[-1][0] + rng.uniform(1.5, 3.5)
        stops += [(at, None), (at + 1.1, back), (at + 1.45, out), (at + 2.4, None)]
    return {"right": through([*stops, (20.0, None)])}


def carrying_a_tray(seed: int) -> dict[str, Arm]:
    held = moving(140 + seed, 1.9, (18, 3), (55, 5), (15, 4), (85, 5))
    return {"left": held, "right": held}


def cleaning_a_window(seed: int) -> dict[str, Arm]:
    quick = 2 * np.pi / (1.3 + 0.15 * (seed % 3))
    elevation = lambda t: 105 + 22 * np.sin(quick * t)  # noqa: E731
    plane = lambda t: 65 + 22 * np.cos(quick * t)  # noqa: E731
    return {"right": Arm(elevation, plane, sway(-10, 8, 2.0, seed), sway(40, 12, 1.7, seed + 1))}


def boxing(seed: int) -> dict[str, Arm]:
    guard, punch = place(40, 70, 30, 130), place(85, 85, 0, 12)
    rng = np.random.default_rng(500 + seed)
    arms = {}
    for side, late in (("left", 0.0), ("right", 0.45)):
        stops: list[tuple[float, Arm | None]] = [(0, guard)]
        while stops[-1][0] < 13.5:
            at = stops[-1][0] + rng.uniform(0.5, 1.6) + late
            stops += [(at, guard), (at + 0.22, punch), (at + 0.5, guard)]
        arms[side] = through([*stops, (20.0, guard)])
    return arms


def ironing(seed: int) -> dict[str, Arm]:
    pace = 2 * np.pi / (2.2 + 0.3 * (seed % 3))
    elevation = lambda t: 38 + 14 * np.sin(pace * t)  # noqa: E731
    elbow = lambda t: 70 - 25 * np.sin(pace * t)  # noqa: E731
    return {"right": Arm(elevation, sway(55, 18, 2.9, seed), sway(15, 8, 2.0, seed), elbow)}


def putting_on_glasses(seed: int) -> dict[str, Arm]:
    chest, face = place(35, 70, 30, 110), place(62, 65, 25, 138)
    at = 1.5 + 0.4 * (seed % 4)
    arm = through([(0, None), (at, chest), (at + 1.6, chest), (at + 2.6, face), (at + 4.0, face),
                   (at + 5.4, None), (20.0, None)])  # fmt: skip
    return {"left": arm, "right": arm}


def yawning(seed: int) -> dict[str, Arm]:
    high = place(150, 20, -30, 70)
    at = 2.5 + 0.5 * (seed % 3)
    stops = [(0, None), (at, None), (at + 1.8, high), (at + 4.2, high), (at + 6.0, None)]
    arm = through([*stops, (20.0, None)])
    return {"left": arm, "right": arm}


def changing_a_bulb(seed: int) -> dict[str, Arm]:
    return {
        "right": moving(540 + seed, 1.4, (145, 5), (60, 6), (-20, 30), (50, 8)),
        "left": moving(530 + seed, 2.2, (25, 6), (50, 10), (10, 10), (40, 10)),
    }


def drumming(seed: int) -> dict[str, Arm]:
    quick = 2 * np.pi / 0.7

    def arm(sign: float, own: int) -> Arm:
        elbow = lambda t: 85 + sign * 14 * np.sin(quick * t)  # noqa: E731
        return Arm(sway(30, 4, 2.0, own), sway(60, 5, 2.0, own), sway(15, 6, 2.0, own), elbow)

    return {"left": arm(-1.0, seed + 5), "right": arm(1.0, seed)}


def crossing_the_arms(seed: int) -> dict[str, Arm]:
    crossed = place(30, 65, 70, 95)
    at = 2.0 + seed % 3
    stops = [(0, None), (at, None), (at + 1.0, crossed), (at + 8.0, crossed), (at + 9.0, None)]
    arm = through([*stops, (20.0, None)])
    return {"left": arm, "right": arm}


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

OTHERS: tuple[Callable[[int], dict[str, Arm]], ...] = (
    hanging_up_washing,
    brushing_teeth,
    stirring_a_pot,
    typing,
    opening_a_door,
    scratching_the_head,
    pulling_on_a_jumper,
    sweeping_the_floor,
    taking_a_photo,
    pointing_the_way,
    dancing_a_little,
    lifting_a_bag,
)
"""Made later, when NONE_WEIGHT had been chosen by the others; SINGLE in recognition was chosen by these."""
FRESH: tuple[Callable[[int], dict[str, Arm]], ...] = (
    pouring_from_a_kettle,
    closing_a_cupboard,
    putting_on_a_hat,
    greeting_once,
    rubbing_the_neck,
    hammering_a_nail,
    painting_a_wall,
    turning_pages,
    throwing_a_ball,
    carrying_a_tray,
)
"""Made last; nothing was chosen by these."""
LATER: tuple[Callable[[int], dict[str, Arm]], ...] = (
    cleaning_a_window,
    boxing,
    ironing,
    putting_on_glasses,
    yawning,
    changing_a_bulb,
    drumming,
    crossing_the_arms,
)
"""Made after those; NONE_WEIGHT was raised by them."""


def daily_track(movement: Callable[[int], dict[str, Arm]], seed: int, yaw_deg: float):
    """Somebody who does this for a while, standing, seen from somewhere."""
    return make_track(duration_s=DURATION_S, yaw_deg=yaw_deg, **movement(seed))
