"""The colours of a proof's picture, chosen before it is drawn: a picture in 256 of them is a third as large."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from PIL import Image

from engrave.output.pictures.fittings import fitting_tone
from engrave.output.pictures.lid_rendering import BURNT, GROOVE
from engrave.output.pictures.lights import shadow_tones
from engrave.output.pictures.paper import DARK
from engrave.output.pictures.scenes import Scene, mixed, rgb
from engrave.output.pictures.shading import Floats
from engrave.output.pictures.wood_grain import Pixels, wood_colours

INKS = ((DARK, 24), ("#6b5946", 12), ("#a98a5e", 4), ("#d9c9b0", 3))
"""Inks of the template `sheet.typ`, and in how many steps each passes into the paper: edges of letters are that smooth."""

WARN, WARN_STEPS = "#8f2f1c", 16
UNDER, UNDER_STEPS = 0.14, 10
"""Ink of the stamp on a lid on hold, in how many steps it passes into the paper; the share of the lid seen through it."""

SHADOW, WOOD, ARRIS, CUT, FITTINGS = 40, 90, 14, 44, 25
"""Steps of the shadow on the paper; of the wood from deep shade to full light; of its lit arris; of a groove or burn; of
all that stands on the lid, shared out among brass and woods. With the inks they come to 256; under a stamp wood has fewer."""


def in_colours_of(picture: Image.Image, seen: Scene, paper: str, *, stamped: bool = False) -> Image.Image:
    """Return a sheet with a lid's picture in few colours, each pixel in the nearest; the same sheet gives the same bytes.

    stamped: whether a stamp lies over the lid.
    """
    colours = Image.new("P", (1, 1))
    colours.putpalette(lid_colours(seen, paper, stamped=stamped).ravel().tolist())
    return picture.quantize(palette=colours, dither=Image.Dither.NONE)


def lid_colours(seen: Scene, paper: str, *, stamped: bool = False) -> Pixels:
    """Return red, green and blue of at most 256 colours that pass into each other in steps too small to be seen."""
    tones = np.array(shadow_tones(paper), dtype=np.float32).reshape(3, 256).T
    parts = [
        *(_passing(_colour(ink), _colour(paper), steps) for ink, steps in INKS),
        tones[np.linspace(0, 255, SHADOW).round().astype(int)],
        _lights(wood_colours(seen.wood).astype(np.float32), WOOD - (WARN_STEPS + UNDER_STEPS) * stamped),
        _shaded(_colour(seen.wood.colour), 1.05, 1.6, ARRIS),
        _cut(seen),
        *_fittings(seen),
        *(_stamp(seen, _colour(paper)) if stamped else ()),
    ]
    return np.concatenate(parts).round().clip(0, 255).astype(np.uint8)


def _stamp(seen: Scene, paper: Floats) -> tuple[Floats, Floats]:
    """Return the colours of a stamp's ink and of its paper, through which the darkest and the lightest wood is seen."""
    own = wood_colours(seen.wood).astype(np.float32)
    low, high = (paper * np.float32(1.0 - UNDER) + one * np.float32(UNDER) for one in (0.4 * own[0], 1.2 * own[-1]))
    return _passing(_colour(WARN), paper, WARN_STEPS), _passing(low, high, UNDER_STEPS)


def _colour(colour: str) -> Floats:
    return np.array(rgb(colour), dtype=np.float32)


def _passing(one: Floats, other: Floats, steps: int) -> Floats:
    """Return the colours from one to another, both included."""
    share = np.linspace(0.0, 1.0, steps, dtype=np.float32)[:, None]
    return np.asarray(one * (1.0 - share) + other * share, dtype=np.float32)


def _lights(own: Floats, steps: int) -> Floats:
    """Return colours, the darkest first, in shade, in their own light and in full light: at even steps of brightness."""
    shade = _passing(np.float32(0.0) * own[0], own[0], 64)
    full = np.minimum(_passing(own[-1], np.float32(1.3) * own[-1], 64), np.float32(255.0))
    line = np.concatenate([shade, own, full])
    bright = line.sum(axis=1)
    at = np.linspace(bright[0], bright[-1], steps)
    return np.stack([np.interp(at, bright, line[:, channel]) for channel in range(3)], axis=1).astype(np.float32)


def _cut(seen: Scene) -> Floats:
    """Return the colours of a burn, from its darkest into the bare wood, or of a groove from deep shade to its lit wall."""
    if seen.beam:
        burn = _colour(mixed(seen.wood.burn, seen.wood.colour, 1.0 - BURNT))
        return np.concatenate([_shaded(burn, 0.5, 1.4, CUT // 2), _passing(burn, _colour(seen.wood.colour), CUT // 2)])
    return _shaded(_colour(seen.wood.colour) * GROOVE, 0.15, 1.85, CUT)


def _shaded(own: Floats, least: float, most: float, steps: int) -> Floats:
    """Return a colour from so little light to so much."""
    return np.minimum(_passing(np.float32(least) * own, np.float32(most) * own, steps), np.float32(255.0))


def _fittings(seen: Scene) -> Iterator[Floats]:
    """Yield the colours of what stands on the lid or is let into it, from its shade to its gleam."""
    tones = sorted({tone for keep in seen.keep_outs if (tone := fitting_tone(keep, seen.wood)) is not None})
    for tone in tones:
        yield _shaded(_colour(tone), 0.35, 1.45, FITTINGS // len(tones))
