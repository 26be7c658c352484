"""A face finder for tests, of another make than anything that formcheck runs."""

from collections.abc import Iterator
from pathlib import Path

import mediapipe as mp
import numpy as np
from mediapipe.tasks.python import BaseOptions, vision

MODEL = Path(__file__).parents[2] / "data" / "face_detection_short_range.tflite"
_SURE = 0.8  # a shirt passed 0.6 once; the rendered face close up has 0.95
_SHARES = (1.0, 0.5, 0.3)  # the model is made for faces as large as a fifth of the picture


class FaceFinder:
    """Looks for faces of any size, tile by tile."""

    def __init__(self) -> None:
        self._detector = vision.FaceDetector.create_from_options(
            vision.FaceDetectorOptions(
                base_options=BaseOptions(model_asset_path=str(MODEL)),
                min_detection_confidence=_SURE,
            )
        )

    def close(self) -> None:
        self._detector.close()

    def faces(self, picture: np.ndarray) -> list[tuple[int, int, int]]:
        """Left, top and width of whatever looks like a face in an RGB picture."""
        found = []
        for left, top, side in _tiles(*picture.shape[:2]):
            tile = np.ascontiguousarray(picture[top : top + side, left : left + side])
            image = mp.Image(image_format=mp.ImageFormat.SRGB, data=tile)
            for face in self._detector.detect(image).detections:
                box = face.bounding_box
                found.append((left + box.origin_x, top + box.origin_y, box.width))
        return found


def _tiles(height: int, width: int) -> Iterator[tuple[int, int, int]]:
    for share in _SHARES:
        side = round(share * min(height, width))
        for top in range(0, max(height - side, 0) + 1, max(side // 3, 1)):
            for left in range(0, max(width - side, 0) + 1, max(side // 3, 1)):
                yield left, top, side
