"""Masks and the light on them: what every picture in pixels is shaded with."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

Floats = NDArray[np.float32]
"""A picture in the making: red, green, blue from 0 to 255, shape (height, width, 3); or a mask, (height, width)."""

Share = NDArray[np.float32]
"""A mask: for each pixel the share of it that is covered, 0 to 1, shape (height, width)."""

Number = TypeVar("Number", np.float32, np.int16)


def moved(share: Floats, down: int, right: int) -> Floats:
    """Return a mask moved by whole pixels; what comes in from outside is the mask's own edge, nothing wraps round."""
    if down == 0 and right == 0:
        return share
    pad = max(abs(down), abs(right))
    wide = np.pad(share, pad, mode="edge")
    top, left = pad - down, pad - right
    return wide[top : top + share.shape[0], left : left + share.shape[1]]


def slope(mask: NDArray[Number], by: int) -> NDArray[Number]:
    """Return how much a mask rises towards the lower right, over `by` pixels either way; in its own numbers."""
    wide = np.pad(mask, by, mode="edge")
    return wide[2 * by :, 2 * by :] - wide[: -2 * by, : -2 * by]


def blurred(share: Floats, radius: float) -> Floats:
    """Return a mask blurred, radius in pixels; a wide one is made smaller, which cannot be seen."""
    return as_share(softened(as_image(share), radius))


HALF, QUARTER = 3.0, 8.0
"""Pixels: blurs so wide are made at half and at a quarter of the size, which cannot be seen."""


def softened(greys: Image.Image, radius: float) -> Image.Image:
    """Return a mask in greys blurred, as `blurred` does."""
    if radius < HALF:
        return greys.filter(ImageFilter.GaussianBlur(radius))
    shrink = 2 if radius < QUARTER else 4
    small = greys.reduce(shrink).filter(ImageFilter.GaussianBlur(radius / shrink))
    return small.resize(greys.size, Image.Resampling.BILINEAR)


def as_image(share: Share) -> Image.Image:
    """Return a mask as a picture in greys."""
    return Image.fromarray((share * 255.0).astype(np.uint8))


def as_share(greys: Image.Image) -> Share:
    """Return a picture in greys as a mask."""
    return np.asarray(greys, dtype=np.float32) / np.float32(255.0)
