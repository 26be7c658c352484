"""The pose model on a run of pictures, as formcheck runs it on a clip."""

from collections.abc import Iterable
from pathlib import Path

import mediapipe as mp
import numpy as np
from mediapipe.tasks.python import BaseOptions, vision
from numpy.typing import NDArray

from models.calibration.shards import KEPT

Array = NDArray[np.float64]


def landmarks_of(
    model: Path, pictures: Iterable[NDArray[np.uint8]], width: int, height: int, rate_hz: float
) -> tuple[Array, Array, Array]:
    """Image landmarks (n, k, 2) in pixels, world landmarks (n, k, 3), visibility (n, k).

    Rows are NaN (visibility 0) where nobody was found.
    """
    options = vision.PoseLandmarkerOptions(
        base_options=BaseOptions(model_asset_path=str(model)),
        running_mode=vision.RunningMode.VIDEO,
    )
    rows = []
    with vision.PoseLandmarker.create_from_options(options) as landmarker:
        for k, picture in enumerate(pictures):
            frame = mp.Image(image_format=mp.ImageFormat.SRGB, data=np.ascontiguousarray(picture))
            found = landmarker.detect_for_video(frame, round(1000 * k / rate_hz))
            row = np.full((len(KEPT), 6), np.nan)
            row[:, 5] = 0
            if found.pose_landmarks:
                flat, solid = found.pose_landmarks[0], found.pose_world_landmarks[0]
                for i, j in enumerate(KEPT):
                    p, w = flat[j], solid[j]
                    row[i] = p.x * width, p.y * height, w.x, w.y, w.z, p.visibility
            rows.append(row)
    table = np.array(rows)
    return table[..., :2], table[..., 2:5], table[..., 5]
