"""How much wood must be left standing between cuts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from engrave.cutting import criteria
from engrave.cutting.measure.narrow_places import NarrowPlace
from engrave.shop.models import Wood
from engrave.tasks import Tool


@dataclass(frozen=True, slots=True)
class WebLimits:
    """Least webs in mm: along and across the grain, and by the height of the wall. grain: direction of the fibres.

    slope: mm by which a wall is thicker for each mm further down; 0 where it is upright, or the shop measured what
    stands. shown: mm that a beam must leave for the wood to show at all.
    """

    along: float
    across: float
    by_height: float
    grain: Literal["x", "y"]
    slope: float = 0.0
    shown: float = 0.0

    def least(self, place: NarrowPlace, depth: float = 0.0) -> float:
        """Return the wood's least web at a place: a web that runs with the fibres may be thinner.

        depth: mm that is cut beside it on either side, by which a wall between V-cuts is thicker where it breaks.
        """
        wanted = self.along if runs_along(place.axis, self.grain) else self.across
        return max(wanted / criteria.WIDENED_AT_BREAK, wanted - self.slope * depth) if self.slope else wanted


def runs_along(axis: float | None, grain: Literal["x", "y"]) -> bool:
    """Tell whether a web's long axis lies within 30 degrees of the fibres; one without direction is short grain."""
    if axis is None:
        return False
    off = axis if grain == "x" else axis - math.pi / 2.0
    return abs((off + math.pi / 2.0) % math.pi - math.pi / 2.0) <= criteria.ALONG_GRAIN + 1e-9


def web_limits(tool: Tool, wood: Wood, grain: Literal["x", "y"], depth: float) -> WebLimits:
    """Return the least webs for this tool in this wood: the shop's test piece before the wood's own figures.

    A bit's wood must not break out. Between V-cuts the wall is judged where it breaks. Between the marks of a beam it
    must not be charred over, and show; the shallower the mark, the less there is to break.
    """
    recipe = tool.recipe
    share, shown = 1.0, 0.0
    if tool.cutter.is_beam and tool.depth <= criteria.SHALLOW_DEPTH:
        share, shown = criteria.SHALLOW_BEAM * tool.depth / criteria.SHALLOW_DEPTH, criteria.SHOWN_WEB[wood.pores]
    measured = recipe.web_along is not None or recipe.web_across is not None
    slope = wall_slope(tool)
    return WebLimits(
        recipe.web_along if recipe.web_along is not None else max(shown, share * wood.web_along),
        recipe.web_across if recipe.web_across is not None else max(shown, share * wood.web_across),
        least_by_height(depth, slope),
        grain,
        0.0 if measured else slope,
        shown,
    )


def wall_slope(tool: Tool) -> float:
    """Return by how much a wall between two cuts is thicker for each mm further down, both its sides together."""
    return tool.cutter.widening if tool.method == "vee" else 0.0


def least_by_height(depth: float, slope: float) -> float:
    """Return how thick the top of a wall beside a cut must be for its height: half of it, where it breaks.

    With w at its top and slope m it is w + m z thick at depth z. It breaks at its foot, or at z = w / m if that is
    higher up, where 2 w against w / (2 m) is enough from m = 1/4 on: between V-cuts of 15 degrees and more.
    """
    if slope >= criteria.WEB_OF_DEPTH / criteria.WIDENED_AT_BREAK:
        return 0.0
    return (criteria.WEB_OF_DEPTH - slope) * depth
