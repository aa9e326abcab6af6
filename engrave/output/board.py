"""A lid as a picture: wood, edge, knobs and hinges, and the lettering as the tool leaves it, lit from the top left."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter
from shapely.geometry.base import BaseGeometry

from engrave.geometry.regions import centre_lines, polygons, region
from engrave.output.view import CHORD, Scene, mixed, rgb
from engrave.output.wood import board

Share = NDArray[np.float32]
"""A mask: for each pixel the share of it that is covered, 0 to 1, shape (height, width)."""

FINE = 3
"""Shapes are drawn so many times larger and then reduced, so that edges are smooth."""


@dataclass(frozen=True, slots=True)
class Frame:
    """Where a lid lies in its picture: scale in pixels a mm, pad in pixels on each side, size of the picture."""

    scale: float
    pad: int
    width: int
    height: int


def frame_for(seen: Scene, most_wide: int, most_high: int, pad: int) -> Frame:
    """Return the frame in which a lid is as large as it may be."""
    scale = min(most_wide / seen.view.width, most_high / seen.view.height)
    width, height = round(seen.view.width * scale) + 2 * pad, round(seen.view.height * scale) + 2 * pad
    return Frame(scale, pad, width, height)


def lid_pixels(seen: Scene, frame: Frame, paper: str, seed: str) -> Image.Image:
    """Return the picture of a lid on paper of that colour."""
    body = mask(seen.body, frame)
    wood = board(seen.wood, (frame.width, frame.height), frame.scale, seen.grain, seed).astype(np.float32)
    wood *= _edge(seen, frame, body)[..., None]
    for keep in seen.keep_outs:
        _keep_out(wood, seen, frame, region(keep.outline, CHORD), keep.height)
    _lettering(wood, seen, frame)
    ground = np.empty_like(wood)
    ground[:] = rgb(paper)
    ground *= 1.0 - 0.42 * _moved(blurred(body, 0.012 * frame.width), 0.006 * frame.width)[..., None]
    ground += (wood - ground) * body[..., None]
    return Image.fromarray(np.clip(ground, 0, 255).astype(np.uint8))


def mask(shape: BaseGeometry, frame: Frame) -> Share:
    """Return how much of each pixel a region (mm) covers."""
    large = Image.new("L", (frame.width * FINE, frame.height * FINE), 0)
    draw = ImageDraw.Draw(large)
    scale, pad = frame.scale * FINE, frame.pad * FINE
    for polygon in polygons(shape):
        for ring, value in ((polygon.exterior, 255), *((hole, 0) for hole in polygon.interiors)):
            points = np.asarray(ring.coords)[:, :2] * scale + (
                pad - 0.5
            )  # the pen's pixels are counted at their middle
            draw.polygon(points.ravel().tolist(), fill=value)
    return np.asarray(large.reduce(FINE), dtype=np.float32) / 255.0


def blurred(share: Share, radius: float) -> Share:
    """Return a mask blurred, radius in pixels."""
    soft = Image.fromarray((share * 255.0).astype(np.uint8)).filter(ImageFilter.GaussianBlur(radius))
    return np.asarray(soft, dtype=np.float32) / 255.0


def _moved(share: Share, by: float) -> Share:
    """Return a mask moved down and to the right by whole pixels."""
    n = max(1, round(by))
    return np.roll(share, (n, n), axis=(0, 1))


def _slope(share: Share, by: int) -> Share:
    """Return how much the mask rises towards the lower right, over `by` pixels either way."""
    return np.roll(share, (-by, -by), axis=(0, 1)) - np.roll(share, (by, by), axis=(0, 1))


def _edge(seen: Scene, frame: Frame, body: Share) -> Share:
    """Return the light on the lid's edge treatment: bright towards the top left, dark towards the lower right."""
    flat = mask(seen.flat, frame)
    soft = blurred(body, max(1.0, 0.4 * frame.scale))
    hard = _slope(soft, 2) * 0.9
    ring = body - flat if flat.any() else np.zeros_like(body)
    return np.asarray(
        1.0 + hard * 0.35 + ring * (_slope(blurred(body, 1.6 * frame.scale), 3) * 0.9 - 0.05), dtype=np.float32
    )


def _keep_out(wood: NDArray[np.float32], seen: Scene, frame: Frame, shape: BaseGeometry, height: float) -> None:
    """Draw a knob that stands proud with its shadow, or an inlay, dowel or hinge let in flush."""
    here = mask(shape, frame)
    size = max(4.0, (shape.bounds[2] - shape.bounds[0]) * frame.scale)
    if height > 0:
        shadow = _moved(blurred(here, 0.09 * size), 0.11 * size)
        wood *= 1.0 - 0.5 * (shadow * (1.0 - here))[..., None]
        tone = np.array(rgb(mixed(seen.wood.colour, "#2a160a", 0.28)), dtype=np.float32)
        dome = 1.0 + 1.5 * _slope(blurred(here, 0.16 * size), max(2, round(0.05 * size)))
        solid = (0.72 * tone + 0.28 * wood) * np.clip(dome, 0.45, 1.5)[..., None]
    else:
        tone = np.array(rgb(mixed(seen.wood.colour, "#2a160a", 0.30)), dtype=np.float32)
        rim = np.abs(_slope(blurred(here, 1.2), 1))
        solid = (0.65 * tone + 0.35 * wood) * (1.0 - 0.6 * rim)[..., None]
    wood += (solid - wood) * here[..., None]


def _lettering(wood: NDArray[np.float32], seen: Scene, frame: Frame) -> None:
    shape = cut_shape(seen)
    if shape.is_empty:
        return
    here = mask(shape, frame)
    if seen.beam:
        _burnt(wood, seen, frame, here)
    else:
        _carved(wood, seen, frame, here)


def cut_shape(seen: Scene) -> BaseGeometry:
    """Return the region that is cut: what the check says is left, else the lettering at its width."""
    if not seen.cut.is_empty or not seen.strokes:
        return seen.cut
    if seen.single:
        return centre_lines(seen.strokes, CHORD).buffer(seen.groove / 2.0)
    return region(seen.strokes, CHORD)


def _burnt(wood: NDArray[np.float32], seen: Scene, frame: Frame, here: Share) -> None:
    """A beam's mark: the wood's burnt colour, its grain still showing, a breath of smoke around it."""
    smoke = blurred(here, 0.45 * frame.scale) * (1.0 - here)
    wood *= 1.0 - 0.22 * smoke[..., None]
    burn = np.array(rgb(seen.wood.burn), dtype=np.float32)
    own = np.array(rgb(seen.wood.colour), dtype=np.float32)
    grain = (wood.mean(axis=2) / own.mean() - 1.0)[..., None]
    wood += (burn * (1.0 + 0.8 * grain) - wood) * (0.93 * here)[..., None]
    wood *= (1.0 - 0.10 * here * (_slope(blurred(here, 1.5), 1)))[..., None]


def _carved(wood: NDArray[np.float32], seen: Scene, frame: Frame, here: Share) -> None:
    """A bit's groove: darker wood below the face, its upper left wall in shade, its lower right wall lit."""
    width = max(2.0, seen.groove * frame.scale)
    soft = blurred(here, min(6.0, 0.30 * width) if seen.single else 1.6)
    wall = _slope(soft, max(1, round(0.16 * width)) if seen.single else 2)
    tone = np.array([0.50, 0.44, 0.38], dtype=np.float32)
    inside = wood * tone * (1.0 - 0.85 * wall)[..., None]
    wood += (inside - wood) * here[..., None]
    lip = (1.0 - here) * np.clip(_slope(blurred(here, 1.0), 1), -1.0, 0.0)
    wood *= (1.0 - 0.35 * lip)[..., None]
