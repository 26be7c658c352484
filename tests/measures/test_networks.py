"""The fitted networks: what they look at, and that long clips are read as short ones are."""

import numpy as np
import pytest

from formcheck.measures import networks
from formcheck.measures.networks import SHIFTS_S, load_ensemble, neighbours


def _features(count, seed=0):
    model = load_ensemble()
    noise = np.random.default_rng(seed).normal(0, 0.5, (count, len(model.mean)))
    return (model.mean + model.spread * noise).astype(np.float32)


def test_a_step_looks_at_the_times_nearest_to_its_shift():
    time_s = np.array([0.0, 0.1, 0.25, 0.3, 5.0])
    before, after = neighbours(time_s)[SHIFTS_S.index(0.2)]
    assert time_s[after[0]] == pytest.approx(0.25)
    assert time_s[before[3]] == pytest.approx(0.1)
    assert time_s[after[3]] == pytest.approx(0.3)  # nothing is known for seconds: it stays
    assert time_s[before[0]] == 0.0


@pytest.mark.slow
def test_a_long_clip_read_in_blocks_is_read_as_if_at_once(monkeypatch):
    features, time_s = _features(1500), np.arange(1500) / 30
    whole, novelty = load_ensemble()(features, time_s)
    monkeypatch.setattr(networks, "_BLOCK", 200)
    parts, novelty_parts = load_ensemble()(features, time_s)
    np.testing.assert_allclose(parts, whole, atol=1e-4)
    np.testing.assert_allclose(novelty_parts, novelty)


@pytest.mark.slow
def test_what_happens_long_before_changes_nothing_now():
    time_s = np.arange(900) / 30
    one, other = _features(900), _features(900)
    other[:100] = _features(100, seed=1)
    late = time_s > 100 / 30 + 2 * sum(SHIFTS_S)
    np.testing.assert_allclose(
        load_ensemble()(one, time_s)[0][:, late],
        load_ensemble()(other, time_s)[0][:, late],
        atol=1e-4,
    )


def test_a_moment_is_read_from_what_comes_before_and_after():
    time_s = np.arange(300) / 30
    one, other = _features(300), _features(300)
    other[:150] = _features(150, seed=1)
    one_read, other_read = load_ensemble()(one, time_s)[0], load_ensemble()(other, time_s)[0]
    apart = np.abs(one_read - other_read).max(axis=(0, 2))
    assert apart[150:180].min() > 0
    assert apart[151] > apart[299]


def test_inputs_unlike_all_fitted_ones_are_known_as_such():
    model = load_ensemble()
    usual = np.tile(model.mean, (60, 1)).astype(np.float32)
    strange = (usual + 20 * model.spread).astype(np.float32)
    time_s = np.arange(60) / 30
    assert model(usual, time_s)[1].max() < 1.0
    assert model(strange, time_s)[1].min() > 1.5
