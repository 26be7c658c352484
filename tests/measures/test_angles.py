"""Worked postures against the ISB shoulder recommendation (Wu et al. 2005, J Biomech 38:981-992)
and tilt-and-torsion (Clin Biomech 2022;92:105573); every line can be recomputed by hand."""

import numpy as np
import pytest

from formcheck.measures.angles import (
    angle_between_deg,
    axial_rotation_deg,
    elevation_deg,
    plane_of_elevation_deg,
)

# ISB axes of the right arm: X forward, Y up, Z right (lateral).
# name, upper arm, forearm, plane (None = undefined), elevation, torsion, elbow flexion
POSTURES = [
    ("arm at side, forearm ahead", (0, -1, 0), (1, 0, 0), None, 0, 0, 90),
    ("rotated out 45", (0, -1, 0), (0.7071, 0, 0.7071), None, 0, -45, 90),
    ("forearm across belly", (0, -1, 0), (0.5, 0, -0.866), None, 0, 60, 90),
    ("abduction 90, forearm ahead", (0, 0, 1), (1, 0, 0), 0, 90, 0, 90),
    ("abduction 90, hands up", (0, 0, 1), (0, 1, 0), 0, 90, -90, 90),
    ("abduction 90, internal 45", (0, 0, 1), (0.7071, -0.7071, 0), 0, 90, 45, 90),
    ("flexion 90, forearm to midline", (1, 0, 0), (0, 0, -1), 90, 90, 90, 90),
    ("flexion 90, forearm up", (1, 0, 0), (0, 1, 0), 90, 90, 0, 90),
    ("scaption 45, elbow 90", (0.3536, -0.7071, 0.6124), (0.866, 0, -0.5), 30, 45, 30, 90),
    ("extension 45, elbow 90", (-0.7071, -0.7071, 0), (0.7071, -0.7071, 0), -90, 45, 0, 90),
    ("cross-body", (0.866, 0, -0.5), (-0.5, 0, -0.866), 120, 90, 120, 90),
    ("flexion 150, elbow 30", (0.5, 0.866, 0), (0, 1, 0), 90, 150, 0, 30),
]


def as_trunk_axes(isb):
    x, y, z = isb
    return np.array([[z, x, y]], dtype=float)


@pytest.mark.parametrize(
    ("upper", "fore", "plane", "elevation", "torsion", "elbow"),
    [p[1:] for p in POSTURES],
    ids=[p[0] for p in POSTURES],
)
def test_worked_postures_read_as_published(upper, fore, plane, elevation, torsion, elbow):
    u, f = as_trunk_axes(upper), as_trunk_axes(fore)
    assert elevation_deg(u)[0] == pytest.approx(elevation, abs=0.05)
    assert angle_between_deg(u, f)[0] == pytest.approx(elbow, abs=0.05)
    assert axial_rotation_deg(u, f)[0] == pytest.approx(torsion, abs=0.05)
    if plane is not None:
        assert plane_of_elevation_deg(u)[0] == pytest.approx(plane, abs=0.05)


def test_torsion_is_the_sum_of_the_first_and_third_isb_angles():
    """sigma = gamma + gamma2 of the Y-X-Y sequence, for any pose away from the poles."""
    rng = np.random.default_rng(1)
    for _ in range(200):
        u = rng.standard_normal(3)
        u /= np.linalg.norm(u)
        f = rng.standard_normal(3)
        f /= np.linalg.norm(f)
        y = -u
        z = np.cross(u, f)
        z /= np.linalg.norm(z)
        x = np.cross(y, z)
        gamma = np.arctan2(u[0], u[2])
        # Y-X-Y by matrix entries: R = Ry(gamma) Rx(beta) Ry(gamma2), beta = -e.
        r = np.stack([x, y, z], axis=1)
        gamma2 = np.arctan2(-r[1, 0], r[1, 2])
        sigma = np.degrees(np.angle(np.exp(1j * (gamma + gamma2))))
        ours = axial_rotation_deg(as_trunk_axes(u), as_trunk_axes(f))[0]
        assert np.degrees(np.angle(np.exp(1j * np.radians(ours - sigma)))) == pytest.approx(
            0, abs=1e-6
        )


def test_small_and_near_straight_angles_are_exact():
    for degrees in (1e-4, 0.1, 179.9, 179.9999):
        a = np.array([1.0, 0.0, 0.0])
        b = np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees)), 0.0])
        assert angle_between_deg(a, b) == pytest.approx(degrees, rel=1e-6)
