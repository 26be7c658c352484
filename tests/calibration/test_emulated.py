"""Emulated people: their truth is what their places say, and who is read without error is read rightly."""

from dataclasses import replace

import numpy as np
import pytest

torch = pytest.importorskip("torch")

from formcheck.measures.angles import (  # noqa: E402
    angle_between_deg,
    axial_rotation_deg,
    elevation_deg,
    plane_of_elevation_deg,
)
from models.calibration import emulated_fit  # noqa: E402
from models.calibration.altered import projected  # noqa: E402
from models.calibration.anybody import arm_directions, people  # noqa: E402
from models.calibration.dataset import TARGETS  # noqa: E402
from models.calibration.emulated import (  # noqa: E402
    SLOPES,
    definition_of,
    emulated,
    errors_of,
    flattened,
)
from models.calibration.material import Material  # noqa: E402
from models.calibration.refit import Look, shipped_networks  # noqa: E402
from models.calibration.seen import features_of  # noqa: E402

CLIPS, COUNT, RATE_HZ = 12, 40, 10.0
HEADS = torch.tensor([[0.0, 0.3, 0.4], [-0.16, 0.0, 0.4], [0.16, 0.0, 0.4]])


@pytest.fixture
def anybody():
    torch.manual_seed(3)
    return people(CLIPS, COUNT, RATE_HZ, HEADS.expand(CLIPS, COUNT, 3, 3))


def clips_of(made, definition):
    """Clips in which landmarks lie off the joints by ``definition``, and depth has its usual slope."""
    marks = made.places + torch.einsum("btij,ki->btkj", made.axes, definition) * _trunk(made)
    rows = {
        "image": projected(marks, made.focal_px)[0],
        "world": flattened(marks, torch.tensor(SLOPES).expand(CLIPS, 7)),
        "visibility": torch.ones(CLIPS, COUNT, 17),
        "places": made.places,
        "left": -made.axes[:, :, 0],
        "up": made.axes[:, :, 2],
        "truth": torch.stack([made.truth, made.truth], dim=2),
        "in_view": torch.ones(CLIPS, COUNT, 2, dtype=torch.bool),
        "known": torch.ones(CLIPS, COUNT, dtype=torch.bool),
    }
    flat = {name: values.flatten(0, 1) for name, values in rows.items()}
    lengths, rates = torch.full((CLIPS,), COUNT), torch.full((CLIPS,), RATE_HZ)
    return Material(
        **flat, lengths=lengths, larger=made.larger, focal_px=made.focal_px, rate_hz=rates
    )


def _trunk(made):
    middles = [made.places[:, :, k : k + 2].mean(2) for k in (3, 11)]
    return (middles[0] - middles[1]).norm(dim=-1).median(1).values[:, None, None, None]


def shown_of(clips):
    every = torch.arange(COUNT).expand(CLIPS, -1)
    right = torch.zeros(CLIPS, dtype=torch.bool)
    return clips.shown(torch.arange(CLIPS), right, every, torch.full((CLIPS,), COUNT))


def test_directions_of_an_arm_have_the_angles_that_formcheck_reads():
    angles = torch.tensor(
        [[30.0, 20.0, -40.0, 60.0], [95.0, 80.0, 50.0, 100.0], [140.0, -30.0, 10.0, 15.0]]
    )
    upper, fore = (v.numpy().astype(float) for v in arm_directions(angles))
    read = [elevation_deg(upper), plane_of_elevation_deg(upper), axial_rotation_deg(upper, fore)]
    np.testing.assert_allclose(
        np.stack([*read, angle_between_deg(upper, fore)], 1), angles, atol=0.1
    )


def test_the_truth_of_anybody_is_what_the_places_say(anybody):
    for near, far, first in ((4, 6, 0), (6, 8, 3)):
        segment = anybody.places[:, :, far] - anybody.places[:, :, near]
        segment = segment / segment.norm(dim=-1, keepdim=True)
        along = torch.einsum("btij,btj->bti", anybody.axes, segment)
        np.testing.assert_allclose(anybody.truth[..., first : first + 3], along, atol=1e-5)
    assert anybody.truth.shape[-1] == len(TARGETS)


def test_everybody_is_before_the_camera_and_no_arm_is_stretched(anybody):
    assert (anybody.places[..., 2] > 0.2).all()
    lengths = (anybody.places[:, :, 6] - anybody.places[:, :, 4]).norm(dim=-1)
    assert (lengths.amax(1) - lengths.amin(1)).max() < 1e-4


def test_depth_of_full_slope_is_true_depth(anybody):
    about = anybody.places - anybody.places[:, :, 11:13].mean(2, keepdim=True)
    np.testing.assert_allclose(flattened(anybody.places, torch.ones(CLIPS, 7)), about, atol=1e-5)


def test_where_landmarks_lie_on_the_body_is_found_and_leaves_no_error(anybody):
    definition = 0.05 * torch.randn(17, 3)
    definition = (definition + definition[list(_MIRROR)] * torch.tensor([-1.0, 1.0, 1.0])) / 2
    clips = clips_of(anybody, definition)
    found = definition_of(clips)
    np.testing.assert_allclose(found, definition, atol=0.01)
    left = errors_of(shown_of(clips), definition)
    assert left.flat.abs().max() < 1e-3
    assert left.solid.abs().median() < 1e-3


_MIRROR = (0, *(k + 1 if k % 2 else k - 1 for k in range(1, 17)))


def test_an_emulated_clip_without_error_shows_the_true_angles(anybody):
    shown = emulated(shown_of(clips_of(anybody, torch.zeros(17, 3))), torch.zeros(17, 3), RATE_HZ)
    world = flattened(shown.places, torch.ones(CLIPS, 7))
    seen = replace(shown.seen, world=world, image=projected(shown.places, shown.focal_px)[0])
    _, upper, fore = features_of(seen)
    both = torch.stack(
        [(upper * fore).sum(-1), (shown.truth[..., :3] * shown.truth[..., 3:6]).sum(-1)]
    )
    np.testing.assert_allclose(both[0], both[1], atol=1e-4)
    assert torch.isfinite(shown.seen.image).all()


def test_a_network_that_answers_as_its_teacher_costs_nothing():
    outputs, told = torch.randn(5, 28), torch.tensor([True, True, False, True, True])
    upper, fore = torch.randn(5, 3), torch.randn(5, 3)
    assert emulated_fit.otherwise(outputs, outputs.clone(), upper, fore, told) == 0
    assert emulated_fit.otherwise(outputs, outputs + 0.1, upper, fore, told) > 0


def test_a_step_teaches_both_networks(anybody, monkeypatch):
    looks = [(source, Look(4, 3, 0.0, 0.3)) for source in ("kept", "altered", "emulated")]
    monkeypatch.setattr(emulated_fit, "LOOKS", looks)
    every = torch.ones(CLIPS)
    fit = emulated_fit.MixedFit(clips_of(anybody, torch.zeros(17, 3)), every, every)
    assert torch.isfinite(fit.step())
    for network, shipped in zip(fit.networks, shipped_networks(), strict=True):
        assert not torch.equal(network.output.weight, shipped.output.weight)
        assert all(torch.isfinite(p).all() for p in network.parameters())
