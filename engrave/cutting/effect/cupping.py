"""How a groove's or stroke's width changes when the lid's face stands higher or lower than it should."""

from __future__ import annotations

import math

from engrave.shop.grooves import groove_at
from engrave.shop.models import Cutter
from engrave.tasks import Tool

CONICAL_BITS = ("v-bit", "half-round")
"""Bits whose cut widens with depth by their angle."""


RIDGE_HEIGHT = 0.05
"""mm: height of the ridges left between two rounds on a flat floor; a finger hardly feels them, a scraper takes them."""


def widening(cutter: Cutter) -> float:
    """Return by how much a conical bit's cut widens for each mm of depth: 2 tan(angle / 2); 0 for other cutters.

    0.54, 1.15 and 2.0 mm at 30, 60 and 90 degrees (Machinery's Handbook, on countersinks: depth = D/2 cot(A/2)).
    """
    if cutter.kind not in CONICAL_BITS or cutter.angle is None:
        return 0.0
    return 2.0 * math.tan(math.radians(cutter.angle) / 2.0)


def _width_at(tool: Tool, depth: float) -> float:
    """Return the groove's width in mm at a depth; 0 where the cutter does not touch the wood."""
    return groove_at(tool.cutter, depth, tool.recipe) if depth > 0.0 else 0.0


def groove_extremes(tool: Tool, groove: float, flatness: float) -> tuple[float, float]:
    """Return the groove's width where the lid's face lies low and where it stands high by its flatness, mm.

    The face is touched off in one place; any other may lie as much as the flatness above or below it.
    """
    if tool.cutter.is_beam:  # a beam reaches down; its focus is the machine's matter
        return (groove, groove)
    low, high = (_width_at(tool, tool.depth + off) for off in (-flatness, flatness))
    return (min(low, groove), max(high, groove))


def width_changes(tool: Tool, groove: float, flatness: float) -> tuple[float, float]:
    """Return by how much what is cut gets narrower where the lid's face lies low, and wider where it stands high, mm.

    A V-bit down the middle of its strokes leans on both walls all the way: both change by its widening. What else is
    followed or cleared changes as its groove does. A cut no deeper than the flatness may miss the wood: narrower by
    all of its groove.
    """
    if tool.method == "vee":
        change = flatness * widening(tool.cutter)
        return (change, change)
    low, high = groove_extremes(tool, groove, flatness)
    return (groove - low, high - groove)


def widest_vee(tool: Tool) -> float:
    """Return the width in mm of the widest stroke that a V-bit cuts in one pass down its middle at the tool's depth."""
    return _width_at(tool, tool.depth)


def vee_depth(cutter: Cutter, width: float) -> float:
    """Return the depth in mm at which a conical bit's cut is `width` wide at the surface; 0 for less than its tip.

    Z = (width - tip) / 2 cot(angle / 2) (Machinery's Handbook, point tools with a flat).
    """
    slope = widening(cutter)
    return max(0.0, (width - (cutter.tip or 0.0)) / slope) if slope else 0.0


def floor_step(cutter: Cutter) -> float:
    """Return how far apart in mm a conical bit's rounds on a flat floor are, so that ridges stay no higher than RIDGE_HEIGHT.

    Two V-grooves s apart leave a ridge (s - tip) / 2 cot(angle / 2) high between them.
    """
    return (cutter.tip or 0.0) + RIDGE_HEIGHT * widening(cutter)
