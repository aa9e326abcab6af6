"""A lid as a picture: wood, edge, knobs and hinges, and the lettering as the tool leaves it, lit from the top left."""

from __future__ import annotations

import hashlib

import numpy as np
from PIL import Image
from shapely.geometry.base import BaseGeometry

from engrave.cache import Cache, CacheKind
from engrave.geometry.paths import Path
from engrave.geometry.regions import centre_lines, region
from engrave.output.pictures.fittings import put_fitting
from engrave.output.pictures.frames import Box, Frame, mask
from engrave.output.pictures.lights import LidLight, lid_light
from engrave.output.pictures.scenes import CHORD, Scene, rgb
from engrave.output.pictures.shading import Share, blurred, slope
from engrave.output.pictures.wood_grain import Lights, Pixels, board_tones, wood_lights
from engrave.shop.models import KeepOut, Wood

BOARDS = 4
"""Boards of each wood: enough that lids side by side are not one lid, few enough that they are kept."""

BARE_LIDS: CacheKind[Image.Image] = CacheKind("bare lids", 6)
"""Kept in memory, about 3 MB each at a proof's size: pieces of one order, settings to choose from."""

LID_LIGHTS: CacheKind[LidLight] = CacheKind("the light on lids", 24)
"""Kept in memory, about 2 MB each at a proof's size: a shop has few lids, and they come again in every wood."""

WOOD_LIGHTS: CacheKind[Lights] = CacheKind("woods in every light", 16)
"""Kept in memory, a quarter of a megabyte each."""

TRUE_ENOUGH = 0.9
"""Share of a mask's ink that the shape's area must have; bolder letters keep their full darkness."""

GROOVE = np.array([0.50, 0.44, 0.38], dtype=np.float32)
"""Red, green and blue of the wood's own that a groove's floor has left."""

BURNT = 0.93
"""Share of a burn's own colour; the rest is the wood under it."""

SMOKE = 0.14
"""How much a beam's smoke darkens the wood beside its mark."""


def lid_pixels(seen: Scene, frame: Frame, paper: str, seed: str, cache: Cache | None = None) -> Image.Image:
    """Return the picture of a lid on paper of that colour. seed: any text, by which one of a few boards is taken."""
    key = (seen.outline, seen.flat, seen.edge, seen.keep_outs, seen.wood, seen.grain, frame, paper, board_of(seed))
    kept = cache or Cache()
    bare = bare_lid(*key, kept) if frame.is_part else kept.get(BARE_LIDS, key, lambda: bare_lid(*key, kept))
    shape = cut_shape(seen)
    if shape.is_empty:
        return bare
    picture = bare.copy()
    box = frame.box(shape, 4 + round(1.5 * frame.scale))
    if box[0] >= box[2] or box[1] >= box[3]:
        return picture
    part = np.array(picture.crop(box))
    _lettering(part, seen, frame, _true_to_area(mask(shape, frame, box), shape, frame, box))
    picture.paste(Image.fromarray(part), box[:2])
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
    cache: Cache,
) -> Image.Image:
    """Return a lid without words on paper of that colour."""
    key = (outline, flat, edge, keep_outs, frame, paper)
    lit = lid_light(*key) if frame.is_part else cache.get(LID_LIGHTS, key, lambda: lid_light(*key))
    lights = cache.get(WOOD_LIGHTS, wood, lambda: wood_lights(wood))
    size = (frame.width, frame.height)
    which = lit.light.astype(np.uint16) << np.uint16(8)
    which |= board_tones(wood, size, frame.scale, grain, str(number))
    lid = Image.frombytes("RGB", size, lights.take(which).tobytes(), "raw", "RGBX")
    for box, keep, light in lit.fittings:
        part = np.array(lid.crop(box), dtype=np.float32)
        put_fitting(part, light, keep, wood)
        lid.paste(Image.fromarray(np.clip(part, 0.0, 255.0).astype(np.uint8)), box[:2])
    return Image.composite(lid, lit.around.convert("RGB"), lit.body)


def _lettering(part: Pixels, seen: Scene, frame: Frame, here: Share) -> None:
    """Draw the lettering into its box of the picture: only the pixels are reckoned that it, its walls or its smoke reach."""
    (_burnt if seen.beam else _carved)(part.reshape(-1, 3), seen, frame, here)


def cut_shape(seen: Scene) -> BaseGeometry:
    """Return the region that is cut: what the check says is left, else the lettering at its width."""
    if not seen.cut.is_empty or not seen.strokes:
        return seen.cut
    if seen.single:
        return centre_lines(seen.strokes, CHORD).buffer(seen.groove / 2.0)
    return region(seen.strokes, CHORD)


def _burnt(pixels: Pixels, seen: Scene, frame: Frame, here: Share) -> None:
    """A beam's mark: the wood's burnt colour, its grain still showing, a breath of smoke around it."""
    smoke, rise = blurred(here, 0.45 * frame.scale), slope(blurred(here, 1.5), 1)
    reached = np.flatnonzero((smoke > 0.0) | (here > 0.0))
    covered = here.ravel()[reached]
    wood = pixels[reached].astype(np.float32)
    wood *= (1.0 - SMOKE * smoke.ravel()[reached] * (1.0 - covered))[:, None]
    burn = np.array(rgb(seen.wood.burn), dtype=np.float32)
    grain = wood[:, 1:2] / np.float32(max(1, rgb(seen.wood.colour)[1])) - 1.0
    wood += (burn * (1.0 + 0.8 * grain) - wood) * (BURNT * covered)[:, None]
    wood *= (1.0 - 0.10 * covered * rise.ravel()[reached])[:, None]
    pixels[reached] = np.clip(wood, 0.0, 255.0).astype(np.uint8)


def _carved(pixels: Pixels, seen: Scene, frame: Frame, here: Share) -> None:
    """A bit's groove: darker wood below the face, its upper left wall in shade, its lower right wall lit."""
    width = max(2.0, seen.groove * frame.scale)
    soft = blurred(here, min(6.0, 0.30 * width) if seen.single else 1.6)
    wall = slope(soft, max(1, round(0.16 * width)) if seen.single else 2)
    lip = np.clip(slope(blurred(here, 1.0), 1), -1.0, 0.0) * (1.0 - here)
    reached = np.flatnonzero((here > 0.0) | (lip < 0.0))
    light = GROOVE * (1.0 - 0.85 * wall.ravel()[reached])[:, None] - 1.0
    light *= here.ravel()[reached][:, None]
    light += (1.0 - 0.35 * lip.ravel()[reached])[:, None]
    pixels[reached] = np.clip(pixels[reached] * light, 0.0, 255.0).astype(np.uint8)
