"""A lid as a picture: wood, edge, knobs and hinges, and the lettering as the tool leaves it, lit from the top left."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter
from shapely.geometry.base import BaseGeometry

from engrave.cache import Cache, CacheKind
from engrave.geometry.paths import Path
from engrave.geometry.regions import centre_lines, polygons, region
from engrave.output.pictures.fittings import draw_fitting
from engrave.output.pictures.scenes import CHORD, Scene, rgb
from engrave.output.pictures.shading import Floats, blurred, slope
from engrave.output.pictures.wood_grain import board
from engrave.shop.models import KeepOut, Wood

Share = NDArray[np.float32]
"""A mask: for each pixel the share of it that is covered, 0 to 1, shape (height, width)."""

Box = tuple[int, int, int, int]
"""Left, top, right, bottom in pixels, the last two not included."""

BOARDS = 4
"""Boards of each wood: enough that lids side by side are not one lid, few enough that they are kept."""

BARE_LIDS: CacheKind[Image.Image] = CacheKind("bare lids", 12)
"""Kept in memory, about 6 MB each at a proof's size: they come again and again."""

TRUE_ENOUGH = 0.9
"""Share of a mask's ink that the shape's area must have; bolder letters keep their full darkness."""

SMOKE = 0.14
"""How much a beam's smoke darkens the wood beside its mark."""

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


def lid_pixels(seen: Scene, frame: Frame, paper: str, seed: str, cache: Cache | None = None) -> Image.Image:
    """Return the picture of a lid on paper of that colour. seed: any text, by which one of a few boards is taken."""
    key = (seen.outline, seen.flat, seen.edge, seen.keep_outs, seen.wood, seen.grain, frame, paper, board_of(seed))
    bare = (cache or Cache()).get(BARE_LIDS, key, lambda: bare_lid(*key))
    shape = cut_shape(seen)
    if shape.is_empty:
        return bare
    picture = bare.copy()
    box = frame.box(shape, 4 + round(1.5 * frame.scale))
    if box[0] >= box[2] or box[1] >= box[3]:
        return picture
    part = np.asarray(picture.crop(box), dtype=np.float32).copy()
    _lettering(part, seen, frame, _true_to_area(mask(shape, frame, box), shape, frame, box))
    np.clip(part, 0.0, 255.0, out=part)
    picture.paste(Image.fromarray(part.astype(np.uint8)), box[:2])
    return picture


def _true_to_area(here: Share, shape: BaseGeometry, frame: Frame, box: Box) -> Share:
    """Return a mask with as much ink as the shape has area: lines finer than a pixel come out wider than they are,
    because a filled polygon takes in its border's pixels, and a buyer would judge them too bold."""
    left, top, right, bottom = box
    whole = left > 0 and top > 0 and right < frame.width and bottom < frame.height
    drawn = float(here.sum())
    true = shape.area * frame.scale**2
    if not whole or drawn <= 0 or true > TRUE_ENOUGH * drawn:
        return here
    return here * np.float32(true / drawn)


def board_of(seed: str) -> int:
    """Return which of a wood's boards an order gets: the same one each time."""
    return hashlib.sha256(seed.encode("utf-8", "surrogatepass")).digest()[0] % BOARDS


def bare_lid(
    outline: Path,
    flat: BaseGeometry,
    edge: float,
    keep_outs: tuple[KeepOut, ...],
    wood: Wood,
    grain: str,
    frame: Frame,
    paper: str,
    number: int,
) -> Image.Image:
    """Return a lid without words on paper of that colour."""
    body_shape = region(outline, CHORD)
    body = mask(body_shape, frame, frame.whole)
    face = board(wood, (frame.width, frame.height), frame.scale, grain, str(number)).astype(np.float32)
    face *= _edge(flat, edge, frame, body)[..., None]
    for keep in keep_outs:
        _keep_out(face, body, frame, keep, wood)
    np.clip(face, 0.0, 255.0, out=face)
    lid = Image.fromarray(face.astype(np.uint8))
    return Image.composite(lid, _shadow(body, paper, frame), _as_image(body))


def _shadow(body: Share, paper: str, frame: Frame) -> Image.Image:
    """Return the paper with the lid's shadow on it; made small, for a shadow has no fine parts."""
    small = _as_image(body).reduce(4)
    reach = min(0.012 * frame.width, 0.4 * frame.pad)
    soft = small.filter(ImageFilter.GaussianBlur(reach / 4))
    by = max(1, round(0.5 * reach / 4))
    shifted = Image.new("L", small.size, 0)
    shifted.paste(soft, (by, by))
    tones = [v * (1.0 - 0.42 * share / 255.0) for v in rgb(paper) for share in range(256)]
    bands = shifted.resize((frame.width, frame.height), Image.Resampling.BILINEAR)
    return Image.merge("RGB", (bands, bands, bands)).point([round(t) for t in tones])


def _as_image(share: Share) -> Image.Image:
    return Image.fromarray((share * 255.0).astype(np.uint8))


def mask(shape: BaseGeometry, frame: Frame, box: Box) -> Share:
    """Return how much of each pixel of a box of the picture a region (mm) covers."""
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
    return np.asarray(large.reduce(FINE), dtype=np.float32) / np.float32(255.0)


def _edge(flat: BaseGeometry, edge: float, frame: Frame, body: Share) -> Share:
    """Return the light on the lid's edge treatment: bright towards the top left, dark towards the lower right."""
    arris = slope(blurred(body, max(1.0, 0.4 * frame.scale)), 2) * np.float32(0.30)
    if edge <= 0 or flat.is_empty:
        return np.asarray(1.0 + arris, dtype=np.float32)
    ring = body - mask(flat, frame, frame.whole)
    treated = slope(blurred(body, 1.6 * frame.scale), 3) * np.float32(0.62) - np.float32(0.03)
    return np.asarray(1.0 + arris + ring * treated, dtype=np.float32)


def _keep_out(face: Floats, body: Share, frame: Frame, keep: KeepOut, wood: Wood) -> None:
    """Draw what stands on the lid or is let into it, with its shadow, into the picture of the bare lid."""
    shape = region(keep.outline, CHORD)
    size = max(4.0, (shape.bounds[2] - shape.bounds[0]) * frame.scale)
    box = frame.box(shape, round(0.5 * size + keep.height * frame.scale) + 4)
    if box[0] >= box[2] or box[1] >= box[3]:
        return
    left, top, right, bottom = box
    draw_fitting(_part(face, box), mask(shape, frame, box), body[top:bottom, left:right], keep, wood, frame.scale)


def _part(face: Floats, box: Box) -> Floats:
    """Return a box of the picture, to be drawn into."""
    left, top, right, bottom = box
    return face[top:bottom, left:right]


def _lettering(part: Floats, seen: Scene, frame: Frame, here: Share) -> None:
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
    wood *= (1.0 - SMOKE * smoke)[..., None]
    burn = np.array(rgb(seen.wood.burn), dtype=np.float32)
    grain = wood[..., 1:2] / np.float32(max(1, rgb(seen.wood.colour)[1])) - 1.0
    wood += (burn * (1.0 + 0.8 * grain) - wood) * (0.93 * here)[..., None]
    wood *= (1.0 - 0.10 * here * (slope(blurred(here, 1.5), 1)))[..., None]


def _carved(wood: Floats, seen: Scene, frame: Frame, here: Share) -> None:
    """A bit's groove: darker wood below the face, its upper left wall in shade, its lower right wall lit."""
    width = max(2.0, seen.groove * frame.scale)
    soft = blurred(here, min(6.0, 0.30 * width) if seen.single else 1.6)
    wall = slope(soft, max(1, round(0.16 * width)) if seen.single else 2)
    tone = np.array([0.50, 0.44, 0.38], dtype=np.float32)
    lip = np.clip(slope(blurred(here, 1.0), 1), -1.0, 0.0) * (1.0 - here)
    wood *= (1.0 - 0.35 * lip)[..., None] + (tone * (1.0 - 0.85 * wall)[..., None] - 1.0) * here[..., None]
