import hashlib
import importlib.util
import json
import zipfile
from pathlib import Path

import pytest

from formcheck.errors import ModelError
from formcheck.landmarks import bundles

MODELS = Path(__file__).parents[2] / "models"


def build_script():
    spec = importlib.util.spec_from_file_location("build_bundles", MODELS / "build_bundles.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder of models with one small bundle that is whole."""
    data = b"a model" * 10
    (tmp_path / "tiny.task").write_bytes(data)
    entry = {"size": len(data), "sha256": hashlib.sha256(data).hexdigest()}
    (tmp_path / "manifest.json").write_text(json.dumps({"bundles": {"tiny": entry}}))
    monkeypatch.setattr(bundles, "_FOLDERS", (tmp_path / "not there", tmp_path))
    return tmp_path


@pytest.mark.parametrize("name", ["lite", "full"])
def test_every_bundle_of_the_repository_is_whole(name):
    assert bundles.find_bundle(name).path == MODELS / f"{name}.task"


def test_a_missing_bundle_is_named_with_its_place_and_the_remedy(folder):
    (folder / "tiny.task").unlink()
    with pytest.raises(ModelError, match=r"tiny\.task.*build_bundles\.py tiny"):
        bundles.find_bundle("tiny")


def test_a_truncated_bundle_is_damaged(folder):
    (folder / "tiny.task").write_bytes(b"a model")
    with pytest.raises(ModelError, match="7 bytes instead of 70"):
        bundles.find_bundle("tiny")


def test_a_changed_byte_is_noticed(folder):
    (folder / "tiny.task").write_bytes(b"A model" + b"a model" * 9)
    with pytest.raises(ModelError, match="wrong content"):
        bundles.find_bundle("tiny")


def test_an_unknown_name_is_answered_with_the_known_ones(folder):
    with pytest.raises(ModelError, match=r"'huge'.*tiny"):
        bundles.find_bundle("huge")


def test_an_unreadable_manifest_is_an_error_in_words(folder):
    (folder / "manifest.json").write_text("{")
    with pytest.raises(ModelError, match=r"manifest\.json cannot be read"):
        bundles.find_bundle("tiny")


def test_no_models_at_all_is_an_error_in_words(folder):
    (folder / "manifest.json").unlink()
    with pytest.raises(ModelError, match="No pose models found"):
        bundles.find_bundle("tiny")


def test_an_installed_package_prefers_its_own_models(folder, tmp_path, monkeypatch):
    own = tmp_path / "own"
    own.mkdir()
    (own / "manifest.json").write_bytes((folder / "manifest.json").read_bytes())
    monkeypatch.setattr(bundles, "_FOLDERS", (own, folder))
    with pytest.raises(ModelError, match="Install formcheck again"):
        bundles.find_bundle("tiny")


@pytest.mark.parametrize("name", ["lite", "full"])
def test_models_lie_uncompressed_on_aligned_bytes_in_the_bundle(name):
    path = MODELS / f"{name}.task"
    with zipfile.ZipFile(path) as bundle:
        entries = bundle.infolist()
    assert [entry.filename for entry in entries] == [
        "pose_detector.tflite",
        "pose_landmarks_detector.tflite",
    ]
    content = path.read_bytes()
    for entry in entries:
        assert entry.compress_type == zipfile.ZIP_STORED
        names, extra = (
            int.from_bytes(
                content[entry.header_offset + at : entry.header_offset + at + 2], "little"
            )
            for at in (26, 28)
        )
        assert (entry.header_offset + 30 + names + extra) % 64 == 0


def test_packing_twice_gives_the_same_bytes():
    pack = build_script().pack
    members = {"one.tflite": b"1" * 100, "another.tflite": b"2" * 333}
    assert pack(members) == pack(dict(members))


def test_a_part_other_than_the_manifest_says_is_refused():
    script = build_script()
    with pytest.raises(script.BuildError, match="part detector is 3 bytes"):
        script.check("part detector", b"abc", {"size": 4, "sha256": "0"})
