"""A clap that both phones heard tells how much later one was started."""

import numpy as np
import pytest

from formcheck.views.sound import SOUND_RATE_HZ, sound_offset_s


def recording(claps_s, *, seed, length_s=8.0, hiss=0.002):
    """Claps in a hissing room, in blocks as they are read."""
    rng = np.random.default_rng(seed)
    sound = hiss * rng.standard_normal((2, round(length_s * SOUND_RATE_HZ)))
    for clap_s in claps_s:
        start = round(clap_s * SOUND_RATE_HZ)
        ring = np.exp(-np.arange(4800) / 600) * rng.standard_normal(4800)
        sound[:, start : start + 4800] += 0.5 * ring
    return np.array_split(sound.astype(np.float32), 37, axis=1)


@pytest.mark.parametrize("ahead_s", [0.0, 0.83, -2.4])
def test_one_clap_is_enough(ahead_s):
    first, second = recording([3.0], seed=1), recording([3.0 + ahead_s], seed=2, hiss=0.01)
    assert sound_offset_s(first, second) == pytest.approx(ahead_s, abs=0.006)


def test_one_clap_is_enough_in_a_long_recording():
    first = recording([5.0], seed=1, length_s=150.0)
    second = recording([4.2], seed=2, length_s=140.0, hiss=0.02)
    assert sound_offset_s(first, second) == pytest.approx(-0.8, abs=0.006)


def test_the_beginning_of_both_recordings_is_no_clap():
    silence = np.zeros((2, SOUND_RATE_HZ // 50), np.float32)
    both = [[silence, *recording([], seed=seed, hiss=0.05)] for seed in (1, 2)]
    assert sound_offset_s(*both) is None


def test_rooms_without_a_common_sound_tell_nothing():
    assert sound_offset_s(recording([], seed=1), recording([], seed=2)) is None
    assert sound_offset_s(recording([3.0], seed=1), recording([], seed=2)) is None
    assert sound_offset_s(recording([2.0], seed=1), []) is None


def test_claps_that_fit_at_several_places_tell_nothing():
    even_s = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]
    assert sound_offset_s(recording(even_s[:3], seed=1), recording(even_s, seed=2)) is None
