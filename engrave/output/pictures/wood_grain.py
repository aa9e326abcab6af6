"""The face of a board, drawn: its rings, fibres and pores by the kind of wood, the same each time for one order."""

from __future__ import annotations

import hashlib

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from engrave.cutting.effect import luminance
from engrave.output.pictures.scenes import rgb
from engrave.shop.models import Wood

Tones = NDArray[np.float32]
Pixels = NDArray[np.uint8]
Cells = tuple[int, int]
Scales = tuple[float, float]
"""Cells along the grain and across it, and how many of them are a mm."""

RING_MM = (1.1, 3.4)
"""Least and greatest width of a year's ring, mm: common practice, no source."""

RINGS = 90
"""Rings that are different; on a wide board they come again."""

BOLD = {"ring": 0.60, "semi-ring": 0.48, "none": 0.55, "diffuse": 0.26}
"""How much rings show, by pores; a softwood ('none') has dark late wood."""

LIT = 128
"""The step of light that leaves the wood's own tone; twice as much is twice as bright."""

STEP = 0.05
"""mm: step of the table of rings."""


LENGTHWISE_MM = 0.5
"""mm along the grain that are worked out as one and then smoothed out: nothing in wood is so short that way."""

Lights = NDArray[np.uint32]
"""A wood's tones (red, green, blue and an empty byte in one number) in every light: light times 256 and tone."""


def board(wood: Wood, size: tuple[int, int], scale: float, grain: str, seed: str) -> Pixels:
    """Return a board's face as pixels (height, width, 3). scale: pixels a mm; grain: 'x' or 'y'; seed: any text."""
    return wood_colours(wood)[board_tones(wood, size, scale, grain, seed)]


def board_tones(wood: Wood, size: tuple[int, int], scale: float, grain: str, seed: str) -> Pixels:
    """Return a board's face as tones of its wood (height, width), 0 the darkest and 255 the palest."""
    width, height = size if grain == "x" else (size[1], size[0])
    rng = np.random.default_rng(int.from_bytes(hashlib.sha256(f"{wood.id} {seed}".encode()).digest()[:8], "big"))
    step = max(1, round(LENGTHWISE_MM * scale))
    few, along = -(-width // step), scale / step
    tone = _rings(wood, (few, height), (along, scale), rng)
    tone += _fibres((few, height), (along, scale), rng)
    tone -= _pores(wood, (few, height), (along, scale), rng)
    face = Image.fromarray((np.clip(tone, 0.0, 1.0) * np.float32(255.0)).astype(np.uint8))
    face = face.resize((width, height), Image.Resampling.BILINEAR)
    if grain == "y":
        face = face.transpose(Image.Transpose.ROTATE_90)
    return np.asarray(face)


def wood_lights(wood: Wood) -> Lights:
    """Return a wood's tones in every step of light, `LIT` of which leave them as they are."""
    light = np.arange(256, dtype=np.float32)[:, None, None] / np.float32(LIT)
    lit = np.clip(wood_colours(wood)[None, :, :] * light, 0.0, 255.0).astype(np.uint8)
    packed = np.zeros((256, 256, 4), dtype=np.uint8)
    packed[..., :3] = lit
    return packed.view(np.uint32).reshape(-1)


def wood_colours(wood: Wood) -> Pixels:
    """Return 256 colours from the wood's darkest to its palest, its own colour in the middle."""
    own = np.array(rgb(wood.colour), dtype=np.float64)
    dark = own * (0.52 if luminance(wood.colour) > 0.25 else 0.42) * np.array([1.0, 0.93, 0.86])
    pale = own + (255.0 - own) * np.array([0.34, 0.30, 0.24])
    t = np.linspace(0.0, 1.0, 256)[:, None]
    low = dark + (own - dark) * np.minimum(t * 2.0, 1.0)
    return np.asarray(low + (pale - own) * np.maximum(t * 2.0 - 1.0, 0.0)).round().astype(np.uint8)


def _smooth(rng: np.random.Generator, width: int, height: int, across: int, along: int) -> Tones:
    """Return slow noise in -1..1, with so many cells across and along the picture."""
    small = rng.uniform(-1.0, 1.0, (across + 2, along + 2)).astype(np.float32)
    return np.asarray(Image.fromarray(small).resize((width, height), Image.Resampling.BICUBIC))


def _rings(wood: Wood, size: Cells, scales: Scales, rng: np.random.Generator) -> Tones:
    """Return the tone 0..1 that year rings give: pale early wood that darkens to a ring's end."""
    (width, height), (along, scale) = size, scales
    high, long = height / scale, width / along
    v = (np.arange(height, dtype=np.float32) / scale)[:, None]
    u = (np.arange(width, dtype=np.float32) / along)[None, :]
    wave = _smooth(rng, width, height, max(1, round(high / 28)), max(1, round(long / 55)))
    if wood.figure == "cathedral":
        middle = high * rng.uniform(0.35, 0.65)
        place = np.abs(v - middle) ** 1.55 * (9.0 / max(high, 1.0) ** 0.62) + u * rng.choice([-0.16, 0.16]) + wave * 3.4
    else:
        place = (
            v * (1.0 if wood.figure == "straight" else 0.8)
            + wave * (1.3 if wood.figure == "straight" else 3.0)
            + u * 0.012
        )
    table = _ring_table(wood, rng)
    index = ((place - place.min()) * np.float32(1.0 / STEP)).astype(np.int32)
    tones = table.take(index, mode="wrap")
    tones += np.float32(0.055) * _smooth(rng, width, height, 3, 2)
    return np.asarray(tones, dtype=np.float32)


def _ring_table(wood: Wood, rng: np.random.Generator) -> Tones:
    """Return tones along a line across the rings."""
    bold = BOLD.get(wood.pores, BOLD["diffuse"])
    long = np.maximum(3, np.rint(rng.uniform(*RING_MM, RINGS) / STEP)).astype(np.int64)
    strength = bold * rng.uniform(0.35, 1.0, RINGS)
    bend = rng.uniform(1.6, 4.0, RINGS)
    which = np.repeat(np.arange(RINGS), long)
    into = (np.arange(long.sum()) - np.repeat(np.cumsum(long) - long, long)) / (long - 1)[which]
    line = 0.56 + 0.10 * strength[which] - 0.42 * strength[which] * into ** bend[which]
    return np.convolve(line.astype(np.float32), np.ones(5, dtype=np.float32) / 5.0, mode="same").astype(np.float32)[
        5:-5
    ]


def _fibres(size: Cells, scales: Scales, rng: np.random.Generator) -> Tones:
    """Return fine streaks along the grain, about a fifth of a mm thick and some 8 mm long."""
    (width, height), (along, scale) = size, scales
    rows = max(2, round(height / max(1.0, 0.22 * scale)))
    cells = max(2, round(width / (8.0 * along)))
    small = rng.normal(0.0, 0.04, (rows, cells)).astype(np.float32)
    return np.asarray(Image.fromarray(small).resize((width, height), Image.Resampling.BILINEAR))


def _pores(wood: Wood, size: Cells, scales: Scales, rng: np.random.Generator) -> Tones:
    """Return pores as short dark dashes along the grain; on flecked wood, rays as pale ones across it as well."""
    share, deep, long_mm = {
        "ring": (0.06, 0.20, 2.6),
        "semi-ring": (0.035, 0.20, 2.0),
        "diffuse": (0.03, 0.06, 1.0),
    }.get(wood.pores, (0.0, 0.0, 1.0))
    along, scale = scales
    dark = _dashes(*size, 0.16 * scale, long_mm * along, share, deep, rng)
    if wood.figure == "fleck":
        dark = dark - _dashes(*size, 0.7 * scale, 1.3 * along, 0.035, 0.13, rng)
    return dark


def _dashes(
    width: int, height: int, thick: float, long: float, share: float, deep: float, rng: np.random.Generator
) -> Tones:
    rows, cells = max(1, round(height / max(1.0, thick))), max(1, round(width / max(1.0, long)))
    if share == 0.0:
        return np.zeros((height, width), dtype=np.float32)
    small = ((rng.random((rows, cells)) < share) * rng.uniform(0.4, 1.0, (rows, cells)) * deep).astype(np.float32)
    return np.asarray(Image.fromarray(small).resize((width, height), Image.Resampling.BILINEAR))
