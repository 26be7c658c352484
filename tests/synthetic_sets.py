"""Whole sets of exact synthetic motion: circles, and rounds of press and hold."""

import numpy as np

from tests.synthetic import Arm, constant, smooth_step, through

RADIUS_DEG = 30.0


def circling(
    turns, centre=(70.0, 60.0), turn_s=2.6, rest_s=0.7, lead_s=3.0, first_radius_deg=RADIUS_DEG
):
    """An arm that is brought up, then draws circles: ``turns`` lists signed counts, + = backward.

    The circle runs from its lowest point; + goes from there toward the front. The first circle may
    be of another size than the others.
    """
    e, p = np.radians(centre)
    axis = np.array([np.sin(e) * np.cos(p), np.sin(e) * np.sin(p), -np.cos(e)])
    down = np.array([0.0, 0.0, -1.0])
    lowest = down - (down @ axis) * axis
    lowest /= np.linalg.norm(lowest)
    onward = np.cross(axis, lowest)
    spans, start = [], lead_s
    for count in turns:
        spans.append((start, start + abs(count) * turn_s, count))
        start += abs(count) * turn_s + rest_s

    def direction(t):
        psi = np.zeros_like(t)
        for first, last, count in spans:
            psi += 2 * np.pi * count * np.clip((t - first) / (last - first), 0, 1)
        widened = smooth_step((t - lead_s - turn_s + 0.4) / 0.4)
        r = np.radians(first_radius_deg + (RADIUS_DEG - first_radius_deg) * widened)[:, None]
        u = np.cos(r) * axis + np.sin(r) * (
            np.cos(psi)[:, None] * lowest + np.sin(psi)[:, None] * onward
        )
        up = smooth_step((t - 1) / 1.5) - smooth_step((t - start - 0.3) / 1.5)
        hanging = np.array([0.1, 0.05, -0.99])
        u = up[:, None] * u + (1 - up[:, None]) * hanging
        return u / np.linalg.norm(u, axis=1, keepdims=True)

    arm = Arm(
        elevation=lambda t: np.degrees(np.arccos(np.clip(-direction(t)[:, 2], -1, 1))),
        plane=lambda t: np.degrees(np.arctan2(direction(t)[:, 1], direction(t)[:, 0])),
        elbow=lambda t: np.full_like(t, 90.0),
    )
    return arm, start + 3.0, spans


MOVE_S, HOLD_S, REST_S = 1.4, 4.0, 1.0


def pose(elevation, plane, rotation, elbow):
    return Arm(*(constant(float(value)) for value in (elevation, plane, rotation, elbow)))


POSES = {
    "belly": pose(16, 25, 62, 90),
    "bear-hug": pose(90, 97, 82, 105),
    "low-back": pose(34, -48, 120, 94),
    "overhead": pose(150, 30, 0, 20),
}
"""Where the arm is held, by part of ``press-and-hold-cycle``; "overhead" is none of its parts."""

ROUND = ["belly", "bear-hug", "low-back"]


def press_cycle(parts, *, hang_between=True, hold_s=HOLD_S):
    """The arm, the length of the clip, and the (start, end) of each hold."""
    stops, t, holds = [(0.0, None), (1.5, None)], 1.5, []
    for number, part in enumerate(parts, start=1):
        t += MOVE_S
        stops += [(t, POSES[part]), (t + hold_s, POSES[part])]
        holds.append((t, t + hold_s))
        t += hold_s
        if hang_between or number == len(parts):
            stops += [(t + MOVE_S, None), (t + MOVE_S + REST_S, None)]
            t += MOVE_S + REST_S
    return through([*stops, (t + 1, None)]), t + 1, holds
