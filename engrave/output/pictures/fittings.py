"""What stands on a lid or is let into it, drawn as a body under the picture's one light, from the top left.

A knob is a dome, a handle or clasp a bar with rounded arrises, a hinge's leaf a plate with its screws, a dowel end grain
flush with the lid, a notch or dimple a hollow, an inlay a piece of another wood. What a keep-out is follows from the
shop's own word for it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

import numpy as np

from engrave.output.pictures.scenes import mixed, rgb
from engrave.output.pictures.shading import Floats, blurred, moved, slope
from engrave.shop.models import KeepOut, Wood

FittingKind = Literal["knob", "plate", "bar", "flush", "hollow", "inlay"]

KIND_BY_WORD: tuple[tuple[str, FittingKind], ...] = (
    ("notch", "hollow"), ("dimple", "hollow"), ("scoop", "hollow"), ("recess", "hollow"), ("hole", "hollow"),
    ("inlay", "inlay"), ("hinge", "plate"), ("leaf", "plate"), ("plate", "plate"), ("strap", "plate"),
    ("clasp", "bar"), ("latch", "bar"), ("catch", "bar"), ("lock", "bar"), ("handle", "bar"), ("pull", "bar"), ("magnet", "inlay"),
    ("dowel", "flush"), ("pin", "flush"), ("plug", "flush"), ("knob", "knob"), ("finial", "knob"), ("button", "knob"),
)  # fmt: skip
"""Words in a keep-out's `why`, most telling first: a 'thumb notch beside the knob' is a notch."""

METAL_WORDS = ("hinge", "leaf", "clasp", "latch", "catch", "lock", "brass", "plate", "strap", "magnet", "screw")
BRASS = "#b8924a"
"""Polished brass under a window; other metals are named by the shop in the same way and look alike at this size."""

SCREW_MM, THREE_SCREWS_MM, LEAST_SCREW = 5.0, 45.0, 2.0
"""mm: a screw's head on a leaf of a box's hinge, and the leaf from which on it has three (common practice, no source);
pixels: radius below which none is drawn."""

AMBIENT = 0.55
"""Share of the light that reaches every side of a body."""


def fitting_kind(keep: KeepOut) -> FittingKind:
    """Return how a keep-out is drawn: by its name, else proud ones as knobs and flush ones as inlays."""
    named = keep.why.casefold()
    for word, kind in KIND_BY_WORD:
        if re.search(rf"\b{word}", named):
            return kind
    return "knob" if keep.height > 0 else "inlay"


def is_metal(keep: KeepOut) -> bool:
    """Tell a brass fitting from a wooden one; 'wooden' in its name decides."""
    named = keep.why.casefold()
    return "wood" not in named and any(word in named for word in METAL_WORDS)


def proud_mm(keep: KeepOut) -> float:
    """Return how far a fitting stands above the lid as it is drawn, mm: a knob or bar without a height stands a little."""
    kind = fitting_kind(keep)
    return 0.0 if kind == "hollow" else max(keep.height, 1.0 if kind in ("knob", "bar") else 0.0)


def screws(box: tuple[float, float, float, float], scale: float) -> tuple[float, list[tuple[float, float, float]]]:
    """Return the radius of a leaf's screws, and of each its x, y and how its slot is turned (radians from upright).

    box: left, top, right, bottom of the leaf, in units of which so many (scale) are a mm, as is what is returned.
    """
    left, top, right, bottom = box
    wide, high, x, y = right - left, bottom - top, (left + right) / 2.0, (top + bottom) / 2.0
    many = 3 if max(wide, high) > THREE_SCREWS_MM * scale else 2
    along = [(number + 0.5) / many - 0.5 for number in range(many)]
    places = [(x + a * wide, y) if wide >= high else (x, y + a * high) for a in along]
    turns = [0.6 + 0.9 * number for number in range(many)]  # no two slots lie alike
    return min(SCREW_MM / 2.0 * scale, 0.3 * min(wide, high)), [(*at, t) for at, t in zip(places, turns, strict=True)]


@dataclass(frozen=True, slots=True)
class FittingLight:
    """The light on a fitting, a mask each, whatever its wood: what it leaves of the lid's light round it, the share of
    each pixel that is its own, the light on its body (None for a hollow, which has none), and its dark lines."""

    round_it: Floats
    here: Floats
    shine: Floats | None
    lines: Floats


def fitting_light(here: Floats, body: Floats, keep: KeepOut, scale: float) -> FittingLight:
    """Return the light on a fitting.

    here: the mask of the fitting; body: that of the lid, on which a shadow may fall; scale: pixels a mm.
    """
    kind = fitting_kind(keep)
    lines = 1.0 - np.float32(0.22 if kind == "hollow" else 0.35) * _rim(here)
    if kind == "hollow":
        return FittingLight(_hollow(here, scale), here, None, lines)
    height = proud_mm(keep)
    round_it = _shadow(here, body, height * scale) if height > 0 else np.ones_like(here)
    shine = _shine(here, kind, scale, height)
    return FittingLight(
        round_it, here, shine, lines * _screws(here, scale) if kind == "plate" and is_metal(keep) else lines
    )


def put_fitting(part: Floats, light: FittingLight, keep: KeepOut, wood: Wood) -> None:
    """Draw a fitting's body and its lines into a part of the picture, which has the light round it already."""
    tone = fitting_tone(keep, wood)
    if light.shine is not None and tone is not None:
        own: Floats = np.broadcast_to(np.array(rgb(tone), dtype=np.float32), part.shape)
        if not is_metal(keep):
            own = np.float32(0.8) * own + np.float32(0.2) * part  # the grain goes on in a wooden one
        solid = np.clip(own * light.shine[..., None], 0.0, 255.0)
        part += (solid - part) * light.here[..., None]
    part *= light.lines[..., None]


def _screws(here: Floats, scale: float) -> Floats:
    """Return the dark of the countersunk screws of a leaf, in a row along its middle: a head's edge, and its slot."""
    dark = np.ones_like(here)
    rows, columns = np.flatnonzero(here.max(axis=1) > 0.5), np.flatnonzero(here.max(axis=0) > 0.5)
    if not rows.size or not columns.size:
        return dark
    box = (columns[0] - 0.5, rows[0] - 0.5, columns[-1] + 0.5, rows[-1] + 0.5)
    radius, places = screws(box, scale)
    if radius < LEAST_SCREW:
        return dark
    down, right = np.mgrid[0 : here.shape[0], 0 : here.shape[1]]
    for x, y, turn in places:
        far = np.hypot(down - y, right - x)
        edge = np.clip(1.0 - np.abs(far - radius), 0.0, 1.0)
        across = (right - x) * np.cos(turn) + (down - y) * np.sin(turn)
        slot = np.clip(0.16 * radius + 0.5 - np.abs(across), 0.0, 1.0) * (far < 0.82 * radius)
        dark *= (1.0 - 0.45 * edge - 0.55 * slot).astype(np.float32) * here + 1.0 - here
    return dark


def fitting_tone(keep: KeepOut, wood: Wood) -> str | None:
    """Return the colour '#rrggbb' of a fitting in a wood; None for a hollow, which has the lid's own."""
    kind = fitting_kind(keep)
    if kind == "hollow":
        return None
    if is_metal(keep):
        return BRASS
    if kind == "inlay":
        return mixed(wood.colour, "#2a160a", 0.55)
    return mixed(wood.colour, "#3a2212", 0.22 if kind == "flush" else 0.30)


def _shadow(here: Floats, body: Floats, high: float) -> Floats:
    """Return the light that a body leaves round it: its shadow falls to the lower right, softer the higher it stands.

    high: in pixels.
    """
    reach = min(0.55 * high, 60.0)
    soft = blurred(here, max(1.2, 0.45 * reach))
    cast = moved(soft, round(0.6 * reach) + 1, round(0.6 * reach) + 1)
    return np.asarray(1.0 - 0.45 * (cast * (1.0 - here) * body), dtype=np.float32)


def _shine(here: Floats, kind: FittingKind, scale: float, height: float) -> Floats:
    """Return the light on a body: a dome's runs over all of it, a bar's and a plate's lie on their arrises."""
    across = float(max(here.sum(axis=1).max(), 1.0)), float(max(here.sum(axis=0).max(), 1.0))
    narrow = min(across)
    if kind == "knob":
        return _dome(here, narrow)
    if kind == "bar":
        roll = max(2.0, min(0.30 * narrow, height * scale))
        return np.asarray(1.0 + 0.9 * slope(blurred(here, 0.5 * roll), max(1, round(0.35 * roll))), dtype=np.float32)
    arris = max(1.0, 0.25 * scale)
    return np.asarray(1.0 + 0.5 * slope(blurred(here, arris), max(1, round(arris))), dtype=np.float32)


def _dome(here: Floats, narrow: float) -> Floats:
    """Return the light on a dome: a sphere's cosine for a light from the top left and above, with a soft gleam.

    The surface's height is that of a half ellipsoid over the mask; its slope gives the normal (Lambert's law).
    """
    soft = blurred(here, 0.17 * narrow)
    step = max(1, round(0.03 * narrow))
    rise_x = (moved(soft, 0, -step) - moved(soft, 0, step)) * np.float32(narrow / (4.0 * step))
    rise_y = (moved(soft, -step, 0) - moved(soft, step, 0)) * np.float32(narrow / (4.0 * step))
    steep = np.sqrt(1.0 + rise_x**2 + rise_y**2)
    cosine = np.clip((0.5 * rise_x + 0.5 * rise_y + 0.70) / steep, 0.0, 1.0)
    gleam = np.clip(cosine - 0.90, 0.0, 0.10) * 3.0
    return np.asarray(AMBIENT + 0.62 * cosine + gleam, dtype=np.float32)


def _hollow(here: Floats, scale: float) -> Floats:
    """Return the light in a hollow: its upper left wall in shade, its lower right wall lit, its floor a little darker."""
    soft = blurred(here, max(1.5, 1.1 * scale))
    wall = slope(soft, max(1, round(0.7 * scale)))
    light = np.clip(0.80 - 0.85 * wall, 0.40, 1.12)
    return np.asarray(1.0 + (light - 1.0) * here, dtype=np.float32)


def _rim(here: Floats) -> Floats:
    """Return a line of about a pixel along a mask's border."""
    return np.asarray(np.clip(4.0 * here * (1.0 - here), 0.0, 1.0), dtype=np.float32)
