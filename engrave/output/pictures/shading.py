"""Masks and the light on them: what every picture in pixels is shaded with."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

Floats = NDArray[np.float32]
"""A picture in the making: red, green, blue from 0 to 255, shape (height, width, 3); or a mask, (height, width)."""


def moved(share: Floats, down: int, right: int) -> Floats:
    """Return a mask moved by whole pixels; what comes in from outside is the mask's own edge, nothing wraps round."""
    if down == 0 and right == 0:
        return share
    pad = max(abs(down), abs(right))
    wide = np.pad(share, pad, mode="edge")
    top, left = pad - down, pad - right
    return wide[top : top + share.shape[0], left : left + share.shape[1]]


def slope(share: Floats, by: int) -> Floats:
    """Return how much a mask rises towards the lower right, over `by` pixels either way."""
    return moved(share, -by, -by) - moved(share, by, by)


def blurred(share: Floats, radius: float) -> Floats:
    """Return a mask blurred, radius in pixels; a wide blur is made at half size, which cannot be seen."""
    image = Image.fromarray((share * 255.0).astype(np.uint8))
    if radius >= 4.0:
        small = image.reduce(2).filter(ImageFilter.GaussianBlur(radius / 2))
        soft = small.resize(image.size, Image.Resampling.BILINEAR)
    else:
        soft = image.filter(ImageFilter.GaussianBlur(radius))
    return np.asarray(soft, dtype=np.float32) / np.float32(255.0)
