"""A lid as a picture: wood, edge, knobs and hinges, and the lettering as the tool leaves it, lit from the top left."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter
from shapely.geometry.base import BaseGeometry

from engrave.geometry.regions import centre_lines, polygons, region
from engrave.output.pictures.scenes import CHORD, Scene, mixed, rgb
from engrave.output.pictures.wood_grain import board

Share = NDArray[np.float32]
"""A mask: for each pixel the share of it that is covered, 0 to 1, shape (height, width)."""

Floats = NDArray[np.float32]
"""A picture in the making: red, green, blue from 0 to 255, shape (height, width, 3)."""

Box = tuple[int, int, int, int]
"""Left, top, right, bottom in pixels, the last two not included."""

FINE = 3
"""Shapes are drawn so many times larger and then reduced, so that edges are smooth."""


@dataclass(frozen=True, slots=True)
class Frame:
    """Where a lid lies in its picture: scale in pixels a mm, pad in pixels on each side, size of the picture."""

    scale: float
    pad: int
    width: int
    height: int

    @property
    def whole(self) -> Box:
        """The whole picture as a box."""
        return (0, 0, self.width, self.height)

    def box(self, shape: BaseGeometry, grow: int) -> Box:
        """Return the pixels around a region (mm), grown by so many and kept within the picture."""
        left, top, right, bottom = (round(v * self.scale) + self.pad for v in shape.bounds)
        return (max(0, left - grow), max(0, top - grow), min(self.width, right + grow), min(self.height, bottom + grow))


def frame_for(seen: Scene, most_wide: int, most_high: int, pad: int) -> Frame:
    """Return the frame in which a lid is as large as it may be."""
    scale = min(most_wide / seen.view.width, most_high / seen.view.height)
    width, height = round(seen.view.width * scale) + 2 * pad, round(seen.view.height * scale) + 2 * pad
    return Frame(scale, pad, width, height)


def lid_pixels(seen: Scene, frame: Frame, paper: str, seed: str) -> Image.Image:
    """Return the picture of a lid on paper of that colour."""
    whole = frame.whole
    body = mask(seen.body, frame, whole)
    wood = board(seen.wood, (frame.width, frame.height), frame.scale, seen.grain, seed).astype(np.float32)
    wood *= _edge(seen, frame, body)[..., None]
    for keep in seen.keep_outs:
        _keep_out(wood, seen, frame, region(keep.outline, CHORD), keep.height)
    _lettering(wood, seen, frame)
    np.clip(wood, 0.0, 255.0, out=wood)
    lid = Image.fromarray(wood.astype(np.uint8))
    return Image.composite(lid, _shadow(body, paper, frame), _as_image(body))


def _shadow(body: Share, paper: str, frame: Frame) -> Image.Image:
    """Return the paper with the lid's shadow on it; made small, for a shadow has no fine parts."""
    small = _as_image(body).reduce(4)
    soft = small.filter(ImageFilter.GaussianBlur(0.012 * frame.width / 4))
    by = max(1, round(0.006 * frame.width / 4))
    moved = Image.new("L", small.size, 0)
    moved.paste(soft, (by, by))
    tones = [v * (1.0 - 0.42 * share / 255.0) for v in rgb(paper) for share in range(256)]
    bands = moved.resize((frame.width, frame.height), Image.Resampling.BILINEAR)
    return Image.merge("RGB", (bands, bands, bands)).point([round(t) for t in tones])


def _as_image(share: Share) -> Image.Image:
    return Image.fromarray((share * 255.0).astype(np.uint8))


def mask(shape: BaseGeometry, frame: Frame, box: Box) -> Share:
    """Return how much of each pixel of a box of the picture a region (mm) covers."""
    left, top, right, bottom = box
    large = Image.new("L", ((right - left) * FINE, (bottom - top) * FINE), 0)
    draw = ImageDraw.Draw(large)
    scale = frame.scale * FINE
    shift = np.array([(frame.pad - left) * FINE - 0.5, (frame.pad - top) * FINE - 0.5])  # pixels count at their middle
    for polygon in polygons(shape):
        for ring, value in ((polygon.exterior, 255), *((hole, 0) for hole in polygon.interiors)):
            points = np.asarray(ring.coords)[:, :2] * scale + shift
            draw.polygon(points.ravel().tolist(), fill=value)
    return np.asarray(large.reduce(FINE), dtype=np.float32) / np.float32(255.0)


def blurred(share: Share, radius: float) -> Share:
    """Return a mask blurred, radius in pixels; a wide blur is made at half size, which cannot be seen."""
    image = _as_image(share)
    if radius >= 4.0:
        soft = (
            image.reduce(2).filter(ImageFilter.GaussianBlur(radius / 2)).resize(image.size, Image.Resampling.BILINEAR)
        )
    else:
        soft = image.filter(ImageFilter.GaussianBlur(radius))
    return np.asarray(soft, dtype=np.float32) / np.float32(255.0)


def _moved(share: Share, by: float) -> Share:
    """Return a mask moved down and to the right by whole pixels."""
    n = max(1, round(by))
    return np.roll(share, (n, n), axis=(0, 1))


def _slope(share: Share, by: int) -> Share:
    """Return how much the mask rises towards the lower right, over `by` pixels either way."""
    return np.roll(share, (-by, -by), axis=(0, 1)) - np.roll(share, (by, by), axis=(0, 1))


def _edge(seen: Scene, frame: Frame, body: Share) -> Share:
    """Return the light on the lid's edge treatment: bright towards the top left, dark towards the lower right."""
    arris = _slope(blurred(body, max(1.0, 0.4 * frame.scale)), 2) * np.float32(0.30)
    if seen.flat.is_empty or seen.flat.equals(seen.body):
        return np.asarray(1.0 + arris, dtype=np.float32)
    ring = body - mask(seen.flat, frame, frame.whole)
    treated = _slope(blurred(body, 1.6 * frame.scale), 3) * np.float32(0.62) - np.float32(0.03)
    return np.asarray(1.0 + arris + ring * treated, dtype=np.float32)


def _keep_out(wood: Floats, seen: Scene, frame: Frame, shape: BaseGeometry, height: float) -> None:
    """Draw a knob that stands proud with its shadow, or an inlay, dowel or hinge let in flush."""
    size = max(4.0, (shape.bounds[2] - shape.bounds[0]) * frame.scale)
    box = frame.box(shape, round(0.5 * size) + 4)
    here, part = mask(shape, frame, box), _part(wood, box)
    tone = np.array(rgb(mixed(seen.wood.colour, "#2a160a", 0.28)), dtype=np.float32)
    if height > 0:
        shadow = _moved(blurred(here, 0.09 * size), 0.11 * size)
        part *= 1.0 - 0.5 * (shadow * (1.0 - here))[..., None]
        dome = 1.0 + 1.5 * _slope(blurred(here, 0.16 * size), max(2, round(0.05 * size)))
        solid = (0.72 * tone + 0.28 * part) * np.clip(dome, 0.45, 1.5)[..., None]
    else:
        rim = np.abs(_slope(blurred(here, 1.2), 1))
        solid = (0.65 * tone + 0.35 * part) * (1.0 - 0.6 * rim)[..., None]
    part += (solid - part) * here[..., None]


def _part(wood: Floats, box: Box) -> Floats:
    """Return a box of the picture, to be drawn into."""
    left, top, right, bottom = box
    return wood[top:bottom, left:right]


def _lettering(wood: Floats, seen: Scene, frame: Frame) -> None:
    shape = cut_shape(seen)
    if shape.is_empty:
        return
    box = frame.box(shape, 4 + round(1.5 * frame.scale))
    here, part = mask(shape, frame, box), _part(wood, box)
    if seen.beam:
        _burnt(part, seen, frame, here)
    else:
        _carved(part, seen, frame, here)


def cut_shape(seen: Scene) -> BaseGeometry:
    """Return the region that is cut: what the check says is left, else the lettering at its width."""
    if not seen.cut.is_empty or not seen.strokes:
        return seen.cut
    if seen.single:
        return centre_lines(seen.strokes, CHORD).buffer(seen.groove / 2.0)
    return region(seen.strokes, CHORD)


def _burnt(wood: Floats, seen: Scene, frame: Frame, here: Share) -> None:
    """A beam's mark: the wood's burnt colour, its grain still showing, a breath of smoke around it."""
    smoke = blurred(here, 0.45 * frame.scale) * (1.0 - here)
    wood *= (1.0 - 0.22 * smoke)[..., None]
    burn = np.array(rgb(seen.wood.burn), dtype=np.float32)
    grain = wood[..., 1:2] / np.float32(max(1, rgb(seen.wood.colour)[1])) - 1.0
    wood += (burn * (1.0 + 0.8 * grain) - wood) * (0.93 * here)[..., None]
    wood *= (1.0 - 0.10 * here * (_slope(blurred(here, 1.5), 1)))[..., None]


def _carved(wood: Floats, seen: Scene, frame: Frame, here: Share) -> None:
    """A bit's groove: darker wood below the face, its upper left wall in shade, its lower right wall lit."""
    width = max(2.0, seen.groove * frame.scale)
    soft = blurred(here, min(6.0, 0.30 * width) if seen.single else 1.6)
    wall = _slope(soft, max(1, round(0.16 * width)) if seen.single else 2)
    tone = np.array([0.50, 0.44, 0.38], dtype=np.float32)
    lip = np.clip(_slope(blurred(here, 1.0), 1), -1.0, 0.0) * (1.0 - here)
    wood *= (1.0 - 0.35 * lip)[..., None] + (tone * (1.0 - 0.85 * wall)[..., None] - 1.0) * here[..., None]
