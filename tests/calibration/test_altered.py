"""Altered clips: the features that fitting sees are the product's, and the truth follows the arms."""

import numpy as np
import pytest

torch = pytest.importorskip("torch")

from formcheck.measures.features import arm_features  # noqa: E402
from formcheck.measures.networks import SHIFTS_S  # noqa: E402
from formcheck.measures.posture import posture_from  # noqa: E402
from formcheck.measures.table import SIDES  # noqa: E402
from models.calibration import refit  # noqa: E402
from models.calibration.altered import Manner, altered, moments  # noqa: E402
from models.calibration.dataset import track_of  # noqa: E402
from models.calibration.material import material_of  # noqa: E402
from models.calibration.network import Network  # noqa: E402
from models.calibration.seen import features_of  # noqa: E402
from models.calibration.shards import Clip, write_shard  # noqa: E402
from models.calibration.truth import COLUMNS  # noqa: E402

COUNT = 40
UNALTERED = Manner(*(False,) * 6)


def somebody(rng):
    """A clip of a person facing the camera, arms moving, landmarks a little wrong."""
    joints = [(0, -0.6, -0.1), *[(s * 0.08, -0.6, 0) for s in (1, -1)]]
    joints += [(s * x, y, 0) for x, y in ((0.2, -0.45), (0.3, -0.2), (0.4, 0)) for s in (1, -1)]
    joints += [
        (s * x, y, 0) for x, y in ((0.42, 0.08), (0.1, 0), (0.1, 0.4), (0.1, 0.8)) for s in (1, -1)
    ]
    places = np.array(joints) + np.array([0, 0, 3.0])
    moves = np.sin(np.arange(COUNT) / 5)[:, None, None] * rng.normal(0, 0.08, (1, 17, 3))
    places = places + moves * (np.arange(17) > 4)[:, None] * (np.arange(17) < 11)[:, None]
    image = places[..., :2] / places[..., 2:] * 500 + [180, 320] + rng.normal(0, 2, (1, 17, 2))
    world = places - places[:, 11:13].mean(1, keepdims=True) + rng.normal(0, 0.02, (1, 17, 3))
    truth = np.zeros((COUNT, len(COLUMNS)))
    for name, axis in (("left", (1, 0, 0)), ("up", (0, -1, 0)), ("gravity_up", (0, -1, 0))):
        truth[:, [COLUMNS.index(f"{name}_{k}") for k in "xyz"]] = axis
    about = {"width": 360, "height": 640, "focal_px": 500.0, "rate_hz": 10.0}
    return Clip(about, image, world, np.ones((COUNT, 17)), places, truth)


@pytest.fixture
def made(tmp_path):
    write_shard(tmp_path / "free_00000.npz", [somebody(np.random.default_rng(2))] * 2)
    return material_of(tmp_path, "free", 1), tmp_path


def shown_of(clips, *, left):
    every = torch.arange(COUNT)[None]
    return clips.shown(torch.tensor([1]), torch.tensor([left]), every, torch.tensor([COUNT]))


@pytest.mark.parametrize("side", SIDES)
def test_the_features_of_a_batch_are_the_products_own(made, side):
    clips, folder = made
    from models.calibration.shards import read_shard  # noqa: PLC0415

    clip = read_shard(folder / "free_00000.npz")[1]
    wanted = arm_features(posture_from(track_of(clip)), side)
    values, upper, fore = features_of(shown_of(clips, left=side == "left").seen)
    np.testing.assert_allclose(values[0], wanted.values, atol=1e-4)
    np.testing.assert_allclose(upper[0], wanted.upper, atol=1e-4)
    np.testing.assert_allclose(fore[0], wanted.fore, atol=1e-4)


def test_without_alterations_a_clip_stays_as_it_is(made):
    shown = shown_of(made[0], left=True)
    same = altered(shown, UNALTERED)
    np.testing.assert_allclose(same.seen.image, shown.seen.image, atol=1e-3)
    np.testing.assert_allclose(same.seen.world, shown.seen.world, atol=1e-5)


@pytest.mark.parametrize("seed", range(4))
def test_the_truth_is_what_the_altered_places_say(made, seed):
    torch.manual_seed(seed)
    shown = shown_of(made[0], left=False)
    other = altered(shown, Manner())
    upper = other.places[0, :, 6] - other.places[0, :, 4]
    along = torch.einsum("tij,tj->ti", other.axes[0], upper / upper.norm(dim=-1, keepdim=True))
    np.testing.assert_allclose(other.truth[0, :, :3], along, atol=1e-5)
    np.testing.assert_allclose(other.truth[..., 6:], shown.truth[..., 6:])


def test_moments_are_times_that_the_clip_has():
    torch.manual_seed(1)
    lengths = torch.tensor([1, 2, 30, 400]).repeat(200)
    index = moments(lengths, 96, 0.4)
    assert (index >= 0).all()
    assert (index < lengths[:, None]).all()


def test_as_many_clips_come_to_a_stop_as_are_asked_to():
    torch.manual_seed(1)
    index = moments(torch.full((1000,), 400), 96, 0.4)
    stands = (index.diff(dim=1) == 0).sum(dim=1) >= 5
    assert 0.3 < stands.float().mean() < 0.4
    assert not (moments(torch.full((1000,), 400), 96, 0.0).diff(dim=1) == 0).any()


def test_a_clip_with_fewer_times_a_second_has_every_third(made):
    clips, _ = made
    clips.rate_hz[:] = 30.0
    thinned = clips.thinned(10.0)
    assert thinned.rate_hz.tolist() == [10.0, 10.0]
    assert thinned.lengths.tolist() == [14, 14]
    np.testing.assert_array_equal(thinned.places[:14], clips.places[:COUNT:3])
    clips.rate_hz[0] = 15.0
    assert len(clips.thinned(10.0).lengths) == 1


def test_a_network_reads_whole_clips_as_it_reads_rows():
    torch.manual_seed(1)
    clips, count, rate_hz = 3, 30, 10.0
    network = Network(7, 16).eval()
    torch.nn.init.normal_(network.output.weight)
    values = torch.randn(clips, count, 7)
    first = torch.arange(clips)[:, None] * count
    near = []
    for shift_s in SHIFTS_S:
        there = torch.arange(count) + torch.tensor([[-1], [1]]) * round(shift_s * rate_hz)
        before, after = (first + there.clamp(0, count - 1)[:, None]).flatten(1)
        near.append((before, after))
    with torch.no_grad():
        by_rows = network(values.flatten(0, 1), near)
        whole = network.over_time(values, rate_hz)
    np.testing.assert_allclose(whole.flatten(0, 1), by_rows, atol=1e-5)


def test_a_step_of_the_fit_changes_the_network_and_leaves_it_whole(made, monkeypatch):
    torch.manual_seed(1)
    looks = (refit.Look(6, 24, 0.4, 0.7), refit.Look(6, 1, 0.0, 0.3))
    monkeypatch.setattr(refit, "LOOKS", looks)
    clips = made[0].thinned(10.0)
    network = refit.shipped_networks()[0]
    fit = refit.Fit(network, clips, torch.ones(2), refit.MANNER)
    before = network.output.weight.detach().clone()
    assert torch.isfinite(fit.step())
    assert (network.output.weight != before).any()
    assert all(torch.isfinite(layer).all() for layer in network.parameters())


def test_half_way_lies_between_two_networks():
    one, other = refit.shipped_networks()
    wanted = (one.first.weight + other.first.weight) / 2
    np.testing.assert_allclose(
        refit.between(one, other).first.weight.detach(), wanted.detach(), atol=1e-6
    )
