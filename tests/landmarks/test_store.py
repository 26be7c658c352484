import json

import numpy as np
import pytest

from formcheck.landmarks.store import load_track, save_track


def test_a_stored_track_is_the_same_track(track, tmp_path):
    save_track(tmp_path / "a.npz", track, {"report": {"frames": 7}})
    loaded, extra = load_track(tmp_path / "a.npz")
    assert extra == {"report": {"frames": 7}}
    for name in ("time_s", "image_px", "world_m", "visibility", "skipped"):
        np.testing.assert_allclose(getattr(loaded, name), getattr(track, name), rtol=1e-6)
    np.testing.assert_array_equal(loaded.image_px, track.image_px)
    for name in ("time_s", "image_px"):
        np.testing.assert_array_equal(
            getattr(loaded.bystanders, name), getattr(track.bystanders, name)
        )
    assert len(loaded.bystanders.time_s) == 2
    for name in ("width", "height", "model", "model_sha256", "problems"):
        assert getattr(loaded, name) == getattr(track, name)


def test_nothing_but_the_file_is_left_behind(track, tmp_path):
    save_track(tmp_path / "a.npz", track, {})
    save_track(tmp_path / "a.npz", track, {})
    assert [path.name for path in tmp_path.iterdir()] == ["a.npz"]


def test_a_failed_save_leaves_the_old_file_and_no_rubbish(track, tmp_path):
    path = tmp_path / "a.npz"
    save_track(path, track, {"run": 1})
    with pytest.raises(TypeError):
        save_track(path, track, {"run": object()})
    assert load_track(path)[1] == {"run": 1}
    assert len(list(tmp_path.iterdir())) == 1


@pytest.mark.parametrize("keep", [0, 10, 0.5, 0.99])
def test_a_truncated_file_is_refused(track, tmp_path, keep):
    path = tmp_path / "a.npz"
    save_track(path, track, {})
    data = path.read_bytes()
    path.write_bytes(data[: int(keep if keep >= 1 or keep == 0 else keep * len(data))])
    with pytest.raises(ValueError, match=r"a\.npz is not a whole landmark file"):
        load_track(path)


def test_a_changed_byte_among_the_numbers_is_refused(track, tmp_path):
    path = tmp_path / "a.npz"
    save_track(path, track, {})
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 0xFF
    path.write_bytes(data)
    with pytest.raises(ValueError, match="not a whole"):
        load_track(path)


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"header": np.frombuffer(b"[]", dtype=np.uint8)}, "not a whole"),
        ({"world_m": np.zeros((3, 33, 3), dtype=np.float32)}, "world_m has shape"),
        ({"time_s": np.array([{}], dtype=object)}, "not a whole"),
        ({"skipped": np.array([7])}, "skipped times are not among the times"),
    ],
    ids=["header", "shape", "pickle", "skipped"],
)
def test_a_file_with_other_content_is_refused(track, tmp_path, change, reason):
    path = tmp_path / "a.npz"
    save_track(path, track, {})
    with np.load(path) as stored:
        arrays = dict(stored)
    np.savez(path, **(arrays | change))
    with pytest.raises(ValueError, match=reason):
        load_track(path)


def test_a_file_of_another_schema_is_refused(track, tmp_path):
    path = tmp_path / "a.npz"
    save_track(path, track, {})
    with np.load(path) as stored:
        arrays = dict(stored)
    header = json.loads(arrays["header"].tobytes()) | {"schema": 99}
    arrays["header"] = np.frombuffer(json.dumps(header).encode(), dtype=np.uint8)
    np.savez(path, **arrays)
    with pytest.raises(ValueError, match="schema 99"):
        load_track(path)
