"""How a cut stands out from its wood: the burn of a beam by its colour, a bit's groove by its shadow."""

from __future__ import annotations

import math

from engrave.shop.models import Wood
from engrave.tasks import Tool

FLARE = 0.05
"""Light that every surface gives back besides, in both terms of a contrast ratio (WCAG 2.2, 'contrast ratio')."""


def luminance(colour: str) -> float:
    """Return the relative luminance of a colour '#rrggbb', 0 to 1 (WCAG 2.2, 'relative luminance')."""
    parts = [int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5)]
    linear = [v / 12.92 if v <= 0.04045 else math.pow((v + 0.055) / 1.055, 2.4) for v in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast_of(tool: Tool, wood: Wood, groove: float) -> float:
    """Return the contrast ratio of what a tool leaves and the face of the wood, 1 to 21, by the wood's stated colours.

    groove: mm that the cut is wide at the face; where a bit cuts deeper, less light comes back out of it.
    """
    face = luminance(wood.colour)
    mark = (
        luminance(wood.burn)
        if tool.cutter.is_beam
        else face * light_left(groove, tool.depth, tool.cutter.widening > 0, face)
    )
    return (face + FLARE) / (mark + FLARE)


def light_left(width: float, depth: float, pointed: bool, gives_back: float) -> float:
    """Return the share of the face's light that comes back out of a long groove under even light.

    A wall sees the opening by F = width over the walls' length (Hottel's crossed strings, for grooves without end); what it
    does not lose comes back after further bounces: F / (1 - r (1 - F)), r being the share that the wood gives back.
    """
    if width <= 0.0:
        return 1.0
    walls = 2.0 * math.hypot(width / 2.0, depth) if pointed else width + 2.0 * depth
    seen = width / walls
    return seen / (1.0 - gives_back * (1.0 - seen))
