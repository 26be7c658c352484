"""What a phone does to a picture: motion blur, noise, softness, low resolution, compression."""

import io
from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Picture = NDArray[np.uint8]


def spoil(
    rng: np.random.Generator,
    render: Callable[[NDArray[np.float64]], Picture],
    bones: NDArray[np.float64],
    every: int,
) -> Iterator[Picture]:
    """Pictures of every so manieth frame's bone matrices, worse than rendered by a clip-wide
    random amount.
    """
    shutter = float(rng.uniform(0.2, 0.7)) if rng.random() < 0.35 else 0.0
    noise = float(rng.gamma(1.5, 2.0))
    shrink = float(rng.choice([1.0, 0.75, 0.55], p=[0.55, 0.25, 0.2]))
    quality = int(rng.integers(25, 95))
    grain: NDArray[np.int16] | None = None
    for k in range(0, len(bones), every):
        picture = render(bones[k])
        if shutter and k + 1 < len(bones):
            later = bones[k] + (bones[k + 1] - bones[k]) * shutter
            half = bones[k] + (bones[k + 1] - bones[k]) * shutter / 2
            layers = [picture, render(half), render(later)]
            picture = np.mean(layers, axis=0).astype(np.uint8)
        if grain is None:
            grain = (rng.standard_normal((2, *picture.shape)) * noise).astype(np.int16)
        shift = rng.integers(0, picture.shape[0])
        noisy = picture + np.roll(grain[k % 2], shift, axis=0)
        yield _compressed(np.clip(noisy, 0, 255).astype(np.uint8), shrink, quality)


def _compressed(picture: Picture, shrink: float, quality: int) -> Picture:
    image = Image.fromarray(picture)
    full = image.size
    if shrink < 1:
        image = image.resize((round(full[0] * shrink), round(full[1] * shrink)), Image.BILINEAR)
    memory = io.BytesIO()
    image.save(memory, "JPEG", quality=quality)
    image = Image.open(memory)
    if shrink < 1:
        image = image.resize(full, Image.BILINEAR)
    return np.ascontiguousarray(image)


def hide(picture: Picture, middle: NDArray[np.float64], radius: float, how: str) -> Picture:
    """The picture with a round about ``middle`` (x, y) made unknowable: "pixels", "blur" or "box"."""
    high, wide = picture.shape[:2]
    left, right = (int(np.clip(middle[0] + way * radius, 0, wide)) for way in (-1, 1))
    top, bottom = (int(np.clip(middle[1] + way * radius, 0, high)) for way in (-1, 1))
    if right - left < 2 or bottom - top < 2:
        return picture
    hidden = picture.copy()
    part = Image.fromarray(np.ascontiguousarray(picture[top:bottom, left:right]))
    few = {"pixels": 4, "blur": 3, "box": 1}[how]
    coarse = part.resize((few, few), Image.BOX)
    back = Image.NEAREST if how == "pixels" else Image.BILINEAR
    hidden[top:bottom, left:right] = np.asarray(coarse.resize(part.size, back))
    return hidden
