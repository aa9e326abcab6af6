"""How a groove's or stroke's width changes when the lid's face stands higher or lower than it should."""

from __future__ import annotations

import math

from engrave.shop.models import Cutter
from engrave.tasks import Tool

CONICAL = ("v-bit", "half-round")
"""Bits whose cut widens with depth by their angle."""


def widening(cutter: Cutter) -> float:
    """Return by how much a conical bit's cut widens for each mm of depth: 2 tan(angle / 2); 0 for other cutters.

    0.54, 1.15 and 2.0 mm at 30, 60 and 90 degrees (Machinery's Handbook, on countersinks: depth = D/2 cot(A/2)).
    """
    if cutter.kind not in CONICAL or cutter.angle is None:
        return 0.0
    return 2.0 * math.tan(math.radians(cutter.angle) / 2.0)


def width_at(cutter: Cutter, depth: float, usual: float) -> float:
    """Return the width of the groove at a depth in mm; `usual` where the width does not depend on it. 0 above wood.

    V-bit and half-round: tip + 2 z tan(angle / 2), at most the bit's own diameter. Ball nose: 2 sqrt(2 R z - z^2),
    at most its diameter.
    """
    if depth <= 0.0:
        return 0.0
    if cutter.kind in CONICAL:
        return min((cutter.tip or 0.0) + depth * widening(cutter), cutter.diameter or math.inf)
    if cutter.kind == "ball-nose" and cutter.diameter:
        radius = cutter.diameter / 2.0
        z = min(depth, radius)
        return 2.0 * math.sqrt(2.0 * radius * z - z * z)
    return usual


def extremes(tool: Tool, groove: float, flatness: float) -> tuple[float, float]:
    """Return the groove's width where the lid's face lies low and where it stands high by its flatness, mm.

    The face is touched off in one place; any other may lie as much as the flatness above or below it.
    """
    low = width_at(tool.cutter, tool.depth - flatness, groove)
    high = width_at(tool.cutter, tool.depth + flatness, groove)
    return (min(low, groove), max(high, groove))


def widest_vee(tool: Tool) -> float:
    """Return the width in mm of the widest stroke that a V-bit cuts in one pass down its middle at the tool's depth."""
    return width_at(tool.cutter, tool.depth, tool.groove)


def vee_depth(cutter: Cutter, width: float) -> float:
    """Return the depth in mm at which a conical bit's cut is `width` wide at the surface; 0 for less than its tip.

    Z = (width - tip) / 2 cot(angle / 2) (Machinery's Handbook, point tools with a flat).
    """
    slope = widening(cutter)
    return max(0.0, (width - (cutter.tip or 0.0)) / slope) if slope else 0.0
