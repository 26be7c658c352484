import stat

import pytest

from formcheck.errors import OutputError
from formcheck.landmarks.cache import LandmarkCache, cache_key
from formcheck.pipeline.settings import Settings

SETTINGS = {"rate_hz": 30.0, "max_side_px": 640, "mirrored": False, "every_frame": False}


@pytest.fixture
def cache(tmp_path, monkeypatch):
    monkeypatch.setenv("FORMCHECK_CACHE_DIR", str(tmp_path / "cache"))
    return LandmarkCache()


def test_what_was_put_is_got(cache, track):
    assert cache.get("k") is None
    cache.put("k", track, {"frames": 7})
    loaded, extra = cache.get("k")
    assert extra == {"frames": 7}
    assert loaded.problems == track.problems


def test_nothing_is_made_before_something_is_stored(cache, tmp_path):
    cache.get("k")
    assert list(tmp_path.iterdir()) == []


def test_the_folder_is_the_users_own(cache, track):
    cache.put("k", track, {})
    assert stat.S_IMODE(cache.folder.stat().st_mode) == 0o700


def test_without_the_variable_it_is_the_platforms_cache_folder(tmp_path, monkeypatch):
    monkeypatch.delenv("FORMCHECK_CACHE_DIR", raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert LandmarkCache().folder.name == "formcheck"


def test_a_damaged_entry_is_a_miss_and_can_be_replaced(cache, track):
    cache.put("k", track, {})
    path = cache.folder / "k.npz"
    path.write_bytes(path.read_bytes()[:100])
    assert cache.get("k") is None
    cache.put("k", track, {})
    assert cache.get("k") is not None


def test_a_folder_that_cannot_be_made_is_a_miss(tmp_path, track):
    (tmp_path / "file").touch()
    cache = LandmarkCache(tmp_path / "file" / "cache")
    cache.put("k", track, {})
    assert cache.get("k") is None


def test_the_doctor_is_told_the_folder_or_why_not(cache, tmp_path):
    assert cache.check_writable() == str(cache.folder)
    assert list(cache.folder.iterdir()) == []
    (tmp_path / "file").touch()
    with pytest.raises(OutputError, match="FORMCHECK_CACHE_DIR"):
        LandmarkCache(tmp_path / "file" / "cache").check_writable()


def test_the_key_does_not_depend_on_the_order_of_the_settings():
    turned = dict(reversed(SETTINGS.items()))
    assert cache_key("c", "m", SETTINGS) == cache_key("c", "m", turned)


@pytest.mark.parametrize(
    "other",
    [
        ("d", "m", SETTINGS),
        ("c", "n", SETTINGS),
        *[("c", "m", SETTINGS | {name: 7}) for name in SETTINGS],
    ],
)
def test_the_key_changes_with_clip_model_and_every_setting(other):
    assert cache_key("c", "m", SETTINGS) != cache_key(*other)


def test_landmarks_of_every_frame_are_kept_apart():
    settings = [Settings(every_frame=every).of_frames() for every in (False, True)]
    assert cache_key("c", "m", settings[0]) != cache_key("c", "m", settings[1])
