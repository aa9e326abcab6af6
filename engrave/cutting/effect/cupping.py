"""How a groove's or stroke's width changes when the lid's face stands higher or lower than it should."""

from __future__ import annotations

from engrave.shop.models import Cutter
from engrave.tasks import Tool

RIDGE_HEIGHT = 0.05
"""mm: height of the ridges left between two rounds on a flat floor; a finger hardly feels them, a scraper takes them."""


def _width_at(tool: Tool, depth: float) -> float:
    """Return the groove's width in mm at a depth; 0 where the cutter does not touch the wood."""
    return tool.cutter.groove_at(depth, tool.recipe) if depth > 0.0 else 0.0


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
        change = flatness * tool.cutter.widening
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
    slope = cutter.widening
    return max(0.0, (width - cutter.point) / slope) if slope else 0.0


def floor_step(cutter: Cutter) -> float:
    """Return how far apart in mm a conical bit's rounds on a flat floor are, so that ridges stay no higher than RIDGE_HEIGHT.

    Two V-grooves s apart leave a ridge (s - tip) / 2 cot(angle / 2) high between them.
    """
    return cutter.point + RIDGE_HEIGHT * cutter.widening
