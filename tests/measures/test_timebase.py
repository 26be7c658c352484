"""Filtering and gaps."""

import numpy as np
import pytest
from scipy.signal import butter, sosfiltfilt, sosfreqz

from formcheck.measures.timebase import (
    corrected_cutoff_hz,
    known_at,
    low_pass,
    resample,
    uniform_times,
)


@pytest.mark.parametrize(("rate", "design"), [(30, 7.0275), (60, 7.3495), (100, 7.4309)])
def test_cutoff_is_corrected_in_the_tangent_domain(rate, design):
    """Winter's double-pass factor 0.802 (Biomechanics and Motor Control of Human Movement), applied
    to the bilinear design; values computed from the definition."""
    assert corrected_cutoff_hz(6.0, rate) == pytest.approx(design, abs=1e-4)


@pytest.mark.parametrize("rate", [24, 30, 60, 120])
def test_double_pass_is_3_db_down_at_the_wanted_cutoff(rate):
    sos = butter(2, corrected_cutoff_hz(6.0, rate), fs=rate, output="sos")
    _, response = sosfreqz(sos, worN=[6.0], fs=rate)
    assert abs(response[0]) ** 2 == pytest.approx(0.7071, abs=1e-4)


def test_filter_has_no_lag_and_keeps_slow_movement():
    t = np.arange(300) / 30
    slow = np.sin(2 * np.pi * 0.5 * t)
    assert np.abs(low_pass(slow, 30.0) - slow)[15:-15].max() < 0.002


@pytest.mark.parametrize("rate", [30, 60])
@pytest.mark.parametrize("count", [30, 300])
def test_filter_is_the_forward_and_backward_pass_of_scipy(rate, count):
    walk = np.cumsum(np.random.default_rng(1).standard_normal((count, 3)), axis=0)
    sos = butter(2, corrected_cutoff_hz(6.0, rate), fs=rate, output="sos")
    both_ways = sosfiltfilt(sos, walk, axis=0, padlen=min(count - 1, rate))
    assert np.abs(low_pass(walk, rate) - both_ways).max() < 1e-6


def test_filter_removes_jitter():
    rng = np.random.default_rng(0)
    noise = rng.standard_normal(3000)
    assert low_pass(noise, 120.0).std() < 0.45 * noise.std()


def test_one_unknown_value_does_not_spoil_the_rest():
    values = np.sin(np.arange(200) / 20)
    values[100] = np.nan
    filtered = low_pass(values, 30.0)
    assert np.isfinite(filtered).sum() == 199


def test_a_gap_of_up_to_200_ms_is_bridged_and_marked_and_a_longer_one_is_left_open():
    t = np.arange(90) / 30
    known = np.ones(90, dtype=bool)
    known[20:24] = False  # 4 missing: 167 ms between known samples
    known[50:57] = False  # 7 missing: 267 ms
    filled, bridged = known_at(t, known, t)
    assert filled[20:24].all()
    assert bridged[20:24].all()
    assert not filled[50:57].any()
    assert not bridged[:20].any()


def test_nothing_is_filled_before_the_first_or_after_the_last_known_time():
    t = np.arange(60) / 30
    known = np.ones(60, dtype=bool)
    known[:5] = known[-5:] = False
    filled, _ = known_at(t, known, t)
    assert not filled[:5].any()
    assert not filled[-5:].any()
    assert filled[5:-5].all()


def test_variable_rate_times_become_even_and_keep_the_movement():
    rng = np.random.default_rng(3)
    t = np.cumsum(rng.choice([1 / 30, 1 / 24, 1 / 15], 300))
    t -= t[0]
    grid = uniform_times(t)
    assert np.ptp(np.diff(grid)) < 1e-9
    assert grid[-1] <= t[-1] + 1e-9
    known = np.ones(len(t), dtype=bool)
    curve = resample(t, np.sin(t), known, grid)
    assert np.abs(curve - np.sin(grid)).max() < 0.01
