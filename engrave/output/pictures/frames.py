"""Where a lid lies in its picture, and which of the picture's pixels a region of it covers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw
from shapely.geometry.base import BaseGeometry

from engrave.geometry.regions import polygons
from engrave.output.pictures.scenes import Scene
from engrave.output.pictures.shading import Share, as_share

Box = tuple[int, int, int, int]
"""Left, top, right, bottom in pixels, the last two not included."""

FINE = 3
"""Shapes are drawn so many times larger and then reduced, so that edges are smooth."""


@dataclass(frozen=True, slots=True)
class Frame:
    """Where a lid lies in its picture: scale in pixels a mm, pad in pixels on each side, size of the picture.

    x0, y0: mm of the lid that lie at the picture's padded corner; 0 unless only a part of the lid is shown.
    """

    scale: float
    pad: int
    width: int
    height: int
    x0: float = 0.0
    y0: float = 0.0

    @property
    def whole(self) -> Box:
        """The whole picture as a box."""
        return (0, 0, self.width, self.height)

    @property
    def is_part(self) -> bool:
        """Whether only a part of the lid is shown: a place that no other picture shows again."""
        return (self.x0, self.y0) != (0.0, 0.0)

    @property
    def window(self) -> tuple[float, float, float, float]:
        """The whole picture in mm of the lid: left, top, width, height."""
        blank = self.pad / self.scale
        return (self.x0 - blank, self.y0 - blank, self.width / self.scale, self.height / self.scale)

    def pixel(self, x: float, y: float) -> tuple[float, float]:
        """Return where a point (mm) of the lid is in the picture."""
        return self.pad + (x - self.x0) * self.scale, self.pad + (y - self.y0) * self.scale

    def box(self, shape: BaseGeometry, grow: int) -> Box:
        """Return the pixels around a region (mm), grown by so many and kept within the picture."""
        left, top, right, bottom = shape.bounds
        x, y = (self.pad - self.x0 * self.scale, self.pad - self.y0 * self.scale)
        ends = (left * self.scale + x, top * self.scale + y, right * self.scale + x, bottom * self.scale + y)
        left, top, right, bottom = (round(v) for v in ends)
        return (max(0, left - grow), max(0, top - grow), min(self.width, right + grow), min(self.height, bottom + grow))


def frame_for(seen: Scene, most_wide: int, most_high: int, pad: int) -> Frame:
    """Return the frame in which a lid is as large as it may be."""
    scale = min(most_wide / seen.view.width, most_high / seen.view.height)
    return frame_at(seen, scale, pad)


def frame_at(seen: Scene, scale: float, pad: int) -> Frame:
    """Return the frame of a whole lid at so many pixels a mm."""
    width, height = round(seen.view.width * scale) + 2 * pad, round(seen.view.height * scale) + 2 * pad
    return Frame(scale, pad, width, height)


def mask(shape: BaseGeometry, frame: Frame, box: Box) -> Share:
    """Return how much of each pixel of a box of the picture a region (mm) covers."""
    return as_share(greys(shape, frame, box))


def greys(shape: BaseGeometry, frame: Frame, box: Box) -> Image.Image:
    """Return the same in greys, 255 for a pixel that is covered."""
    left, top, right, bottom = box
    large = Image.new("L", ((right - left) * FINE, (bottom - top) * FINE), 0)
    draw = ImageDraw.Draw(large)
    scale = frame.scale * FINE
    corner = np.array([frame.x0, frame.y0]) * scale
    shift = (
        np.array([(frame.pad - left) * FINE - 0.5, (frame.pad - top) * FINE - 0.5]) - corner
    )  # pixels count at their middle
    for polygon in polygons(shape):
        for ring, value in ((polygon.exterior, 255), *((hole, 0) for hole in polygon.interiors)):
            points = np.asarray(ring.coords)[:, :2] * scale + shift
            draw.polygon(points.ravel().tolist(), fill=value)
    return large.reduce(FINE)
