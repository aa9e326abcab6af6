"""The light on a bare lid, whatever its wood: edge treatment, fittings, the shadow that it throws on the paper."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageChops, ImageFilter
from shapely import box as rectangle
from shapely.geometry.base import BaseGeometry

from engrave.geometry.paths import Path
from engrave.geometry.regions import region
from engrave.output.pictures.fittings import FittingLight, fitting_light
from engrave.output.pictures.frames import Box, Frame, greys, mask
from engrave.output.pictures.scenes import CHORD, rgb
from engrave.output.pictures.shading import as_share, slope, softened
from engrave.output.pictures.wood_grain import LIT
from engrave.shop.models import KeepOut

Steps = NDArray[np.uint8]
"""For each pixel how much light falls on it, in steps of 1 / LIT."""

REACH_MM, REACH = 4.0, 12
"""mm and pixels beyond which an edge's light is not seen: thrice the blur of the edge treatment, and its slope."""


@dataclass(frozen=True, slots=True)
class LidLight:
    """A lid's picture but for its wood. body: the lid, in greys; around: the paper with its shadow, in its own colours."""

    body: Image.Image
    light: Steps
    around: Image.Image
    fittings: tuple[tuple[Box, KeepOut, FittingLight], ...]


def lid_light(
    outline: Path, flat: BaseGeometry, edge: float, keep_outs: tuple[KeepOut, ...], frame: Frame, paper: str
) -> LidLight:
    """Return the light on a lid without words, on paper of that colour."""
    body_shape = region(outline, CHORD)
    size = (frame.width, frame.height)
    if _within(frame, body_shape, flat if edge > 0 else body_shape):
        body, around = Image.new("L", size, 255), _on_paper(Image.new("L", size, 0), paper)
        light = np.full(size[::-1], LIT, dtype=np.uint8)
    else:
        body = greys(body_shape, frame, frame.whole)
        light, around = _edge(flat, edge, frame, body), _shadow(body, paper, frame)
    lit = [one for keep in keep_outs if (one := _fitting(body, light, frame, keep)) is not None]
    return LidLight(body, light, around, tuple(lit))


def _within(frame: Frame, *shapes: BaseGeometry) -> bool:
    """Tell whether a picture shows a part of the lid so far within it that no edge is seen."""
    left, top, width, height = frame.window
    reach = REACH_MM + REACH / frame.scale
    window = rectangle(left - reach, top - reach, left + width + reach, top + height + reach)
    return all(shape.contains(window) for shape in shapes)


ARRIS, TREATED, SUNK = 39, 80, 4
"""Light on an arris and on the edge treatment by their slope, in 256ths of a step for a grey: 0.30 and 0.62 of the wood's
own light from no cover to full; and by how many steps the treatment is darker than the face, 0.03."""


def _edge(flat: BaseGeometry, edge: float, frame: Frame, body: Image.Image) -> Steps:
    """Return the light on the lid's edge treatment: bright towards the top left, dark towards the lower right."""
    light = slope(_whole(softened(body, max(1.0, 0.4 * frame.scale))), 2)
    light *= ARRIS
    light >>= 8
    if edge > 0 and not flat.is_empty:
        ring = _whole(ImageChops.subtract(body, greys(flat, frame, frame.whole)))
        treated = slope(_whole(softened(body, 1.6 * frame.scale)), 3)
        treated *= TREATED
        treated >>= 8
        treated -= SUNK
        treated *= ring
        treated >>= 8
        light += treated
    light += LIT
    return light.clip(0, 255).astype(np.uint8)


def _whole(picture: Image.Image) -> NDArray[np.int16]:
    """Return a mask's greys as whole numbers that may be less than nothing, half as long as shares."""
    return np.asarray(picture, dtype=np.int16)


def _shadow(body: Image.Image, paper: str, frame: Frame) -> Image.Image:
    """Return the paper with the lid's shadow on it; made small, for a shadow has no fine parts."""
    small = body.reduce(4)
    reach = min(0.012 * frame.width, 0.4 * frame.pad)
    soft = small.filter(ImageFilter.GaussianBlur(reach / 4))
    by = max(1, round(0.5 * reach / 4))
    shifted = Image.new("L", small.size, 0)
    shifted.paste(soft, (by, by))
    return _on_paper(shifted.resize((frame.width, frame.height), Image.Resampling.BILINEAR), paper)


def _on_paper(shadow: Image.Image, paper: str) -> Image.Image:
    """Return a shadow, 0 for none, in the paper's tones: a byte a pixel, for these are kept."""
    tones = [round(t) for t in shadow_tones(paper)]
    shadow.putpalette([tone for step in zip(tones[:256], tones[256:512], tones[512:], strict=True) for tone in step])
    return shadow


SHADE = 0.42
"""Share of the paper's light that the middle of a lid's shadow takes away."""


def shadow_tones(paper: str) -> list[float]:
    """Return the paper's red, green and blue, each in 256 steps from full light to full shadow."""
    return [v * (1.0 - SHADE * share / 255.0) for v in rgb(paper) for share in range(256)]


def _fitting(body: Image.Image, light: Steps, frame: Frame, keep: KeepOut) -> tuple[Box, KeepOut, FittingLight] | None:
    """Take from the lid's light what falls into a hollow's or a body's shade; return the body, where one is in sight."""
    shape = region(keep.outline, CHORD)
    size = max(4.0, (shape.bounds[2] - shape.bounds[0]) * frame.scale)
    left, top, right, bottom = box = frame.box(shape, round(0.5 * size + keep.height * frame.scale) + 4)
    if left >= right or top >= bottom:
        return None
    one = fitting_light(mask(shape, frame, box), as_share(body.crop(box)), keep, frame.scale)
    part = light[top:bottom, left:right]
    part[...] = part * one.round_it
    x0, y0, x1, y1 = close = frame.box(shape, 2)
    if one.shine is None:
        part[...] = part * one.lines
    if one.shine is None or x0 >= x1 or y0 >= y1:
        return None
    rows, columns = slice(y0 - top, y1 - top), slice(x0 - left, x1 - left)
    here, shine, lines = (np.ascontiguousarray(m[rows, columns]) for m in (one.here, one.shine, one.lines))
    return close, keep, FittingLight(np.ones_like(here), here, shine, lines)
