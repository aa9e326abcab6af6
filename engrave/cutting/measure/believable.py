"""Whether a kept measure can be one of the glyph at all: every figure finite, every place and width within the glyph."""

from __future__ import annotations

import math

from engrave.cutting.criteria import CLOSED_BY
from engrave.cutting.measure.glyphs import GlyphMeasure
from engrave.geometry.narrow_strips import Narrow

TIP_OUTSIDE = 0.3
"""Cap heights: so far beyond its box the tip of a glyph's crotch may lie: the end of a stroke opens to the wood outside."""

Bounds = tuple[float, float, float, float]
"""Least x, least y, greatest x, greatest y, in cap heights."""

SLACK_INSIDE = 1e-6
"""Share of a glyph's size by which rounding may carry a place or a width beyond its bounds."""


def is_believable(measure: GlyphMeasure, bounds: Bounds) -> bool:
    """Tell whether figures from a file can be those of a glyph with these bounds.

    What is cut, and the wood that it encloses, is no wider than the glyph's lesser side and lies inside its box; wood
    between strokes lies between them, so inside the box as well, and is narrower than the box is long.
    """
    x0, y0, x1, y1 = bounds
    sides = (x1 - x0, y1 - y0)
    slack = SLACK_INSIDE * max(*sides, 1.0)

    def inside(x: float, y: float, beside: float = slack) -> bool:
        return x0 - beside <= x <= x1 + beside and y0 - beside <= y <= y1 + beside  # false for what is no number

    def fits(n: Narrow, most: float) -> bool:
        axis = n.axis if n.axis is not None else 0.0
        closed = 0.0 <= n.closed_by <= CLOSED_BY[-1]
        return 0.0 <= n.width <= most + slack and inside(n.x, n.y) and math.isfinite(axis) and closed

    solid = (*measure.strokes, *measure.parts, *measure.counters, *measure.specks)
    return (
        all(fits(n, min(sides)) for n in solid)
        and all(fits(n, math.hypot(*sides)) for n in measure.webs)
        and all(
            inside(c.x, c.y, TIP_OUTSIDE) and 0.0 <= c.length <= 2.0 * math.hypot(*sides) and 0.0 <= c.width < math.inf
            and math.isfinite(c.axis) for c in measure.crotches
        )
    )  # fmt: skip
