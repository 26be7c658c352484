"""Bake the bodies that the generator animates: rest meshes of many people, by a stated seed.

Needs torch and anny (code Apache-2.0; its mesh, rig and shapes CC0), nothing else here does.
Bodies are not kept in the repository (0.4 MB each); this command makes the same ones again:

    ANNY_CACHE_DIR=/tmp/anny python -m models.calibration.bake --out /tmp/bodies
"""

import argparse
from pathlib import Path
from typing import Any

import numpy as np
import torch
import yaml
from anny import Anny
from anny.paths import get_anny_root_dir
from PIL import Image

from models.calibration.people import PEOPLE, Person

WEIGHTS_PER_VERTEX = 8


def bake_all(folder: Path) -> None:
    """Write ``common.npz`` (what all bodies share) and one ``NAME.npz`` a person into ``folder``."""
    torch.set_num_threads(1)
    model = Anny(phenotype_blendshapes="original").to(dtype=torch.float32)
    common = _common(model)
    names = [str(name) for name in model.bone_labels]
    pose = torch.eye(4)[None, None].repeat(1, model.bone_count, 1, 1)
    folder.mkdir(parents=True, exist_ok=True)
    np.savez_compressed(folder / "common.npz", names=np.array(names), **common)
    for person in PEOPLE:
        shape = model(pose_parameters=pose, phenotype_kwargs=person.shape)
        vertices = shape["rest_vertices"][0].numpy().astype(np.float64)
        heads = shape["rest_bone_heads"][0].numpy().astype(np.float64)
        vertices, heads = _with_arm_length(vertices, heads, names, common, person)
        np.savez_compressed(
            folder / f"{person.name}.npz",
            vertices_tenth_mm=np.round(vertices * 1e4).astype(np.int16),
            heads=heads,
        )
        print(f"{person.name}: {np.ptp(vertices[:, 2]):.2f} m tall", flush=True)


def _common(model: Any) -> dict[str, np.ndarray]:  # noqa: ANN401 - anny is untyped
    faces = model.faces.numpy().astype(np.int32)
    corner_uv = model.face_texture_coordinate_indices.numpy()
    uv = model.texture_coordinates.numpy()
    part, labels = _body_parts(faces, uv[corner_uv].mean(1), len(model.template_vertices))
    bones, weights = model.vertex_bone_indices.numpy(), model.vertex_bone_weights.numpy()
    keep = np.argsort(-weights, axis=1)[:, :WEIGHTS_PER_VERTEX]
    weights = np.take_along_axis(weights, keep, axis=1)
    return {
        "faces": faces,
        "parents": np.array([int(p) for p in model.bone_parents]),
        "bones": np.take_along_axis(bones, keep, axis=1).astype(np.uint8),
        "weights": (weights / weights.sum(1, keepdims=True)).astype(np.float32),
        "part": part,
        "part_labels": np.array(labels),
    }


def _body_parts(faces: np.ndarray, face_uv: np.ndarray, count: int) -> tuple[np.ndarray, list[str]]:
    """Body part of each vertex by majority of its faces, from the model's own segmentation map."""
    folder = get_anny_root_dir() / "data/segmentation"
    picture = Image.open(folder / "body_parts_segmentation.png").convert("RGB")
    pixels = np.asarray(picture).astype(int)
    colours = yaml.safe_load((folder / "body_parts_segmentation.yaml").read_text())["colors"]
    labels = list(colours)
    high, wide = pixels.shape[:2]
    x = np.clip((face_uv[:, 0] * wide).round().astype(int), 0, wide - 1)
    y = np.clip(((1 - face_uv[:, 1]) * high).round().astype(int), 0, high - 1)
    distance = np.stack([np.abs(pixels[y, x] - np.array(colours[k])).sum(1) for k in labels], 1)
    votes = np.zeros((count, len(labels)), int)
    for corner in range(3):
        np.add.at(votes, (faces[:, corner], distance.argmin(1)), 1)
    return votes.argmax(1).astype(np.int8), labels


def _with_arm_length(
    vertices: np.ndarray,
    heads: np.ndarray,
    names: list[str],
    common: dict[str, np.ndarray],
    person: Person,
) -> tuple[np.ndarray, np.ndarray]:
    """Stretch upper arms and forearms along their own axes; the skin follows its bones."""
    vertices, heads = vertices.copy(), heads.copy()
    for side in "LR":
        for bone, nxt, starts, scale in (
            ("lowerarm01", "wrist", ("lowerarm", "wrist", "finger", "metacarpal"), person.forearm),
            (
                "upperarm01",
                "lowerarm01",
                ("upperarm", "lowerarm", "wrist", "finger", "metacarpal"),
                person.upper_arm,
            ),
        ):
            start = heads[names.index(f"{bone}.{side}")].copy()
            axis = heads[names.index(f"{nxt}.{side}")] - start
            length = np.linalg.norm(axis)
            axis /= length
            moved = np.array([n.endswith(f".{side}") and n.startswith(starts) for n in names])
            share = (common["weights"] * moved[common["bones"]]).sum(1)
            for points, weight in ((vertices, share), (heads, moved.astype(float))):
                along = np.clip((points - start) @ axis, 0, length)
                points[:] = points + ((scale - 1) * along * weight)[:, None] * axis
    return vertices, heads


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, required=True)
    bake_all(parser.parse_args().out)
