"""How much wood must be left standing between cuts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from engrave.cutting import criteria
from engrave.cutting.measure.narrow_places import NarrowPlace
from engrave.shop.models import Recipe, Wood
from engrave.tasks import Tool


@dataclass(frozen=True, slots=True)
class WebLimits:
    """Least webs in mm: along and across the grain, and by the height of the wall. grain: direction of the fibres.

    slope: mm by which a wall is thicker for each mm further down; 0 where it is upright, or the shop measured what
    stands. shown: mm that a beam must leave for the wood to show at all. height_share: thickness of a wall over its height
    that it needs. tried_along, tried_across: whether the shop's test piece showed it. walls: along and across, those
    between V-cuts `tested_depth` deep that stood there.
    """

    along: float
    across: float
    by_height: float
    grain: Literal["x", "y"]
    slope: float = 0.0
    shown: float = 0.0
    height_share: float = criteria.WEB_OF_DEPTH
    tried_along: bool = False
    tried_across: bool = False
    walls: tuple[float | None, float | None] = (None, None)
    tested_depth: float = 0.0

    def least(self, place: NarrowPlace, depth: float = 0.0) -> float:
        """Return the wood's least web at a place: a web that runs with the fibres may be thinner.

        depth: mm that is cut beside it on either side, by which a wall between V-cuts is thicker where it breaks.
        """
        along = runs_along(place.axis, self.grain)
        wanted, wall = (self.along, self.walls[0]) if along else (self.across, self.walls[1])
        if not self.slope or (wall is None and self.tried(place)):
            return wanted
        if wall is not None:
            return wall_needed(wall, self.tested_depth, self.slope, depth) if depth > 0.0 else wanted
        return max(wanted / criteria.WIDENED_AT_BREAK, wanted - self.slope * depth)

    def tried(self, place: NarrowPlace) -> bool:
        """Tell whether the least web at a place is what the shop's test piece showed."""
        return self.tried_along if runs_along(place.axis, self.grain) else self.tried_across


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
    recipe, slope = tool.recipe, wall_slope(tool)
    share, shown = 1.0, 0.0
    if tool.cutter.is_beam and tool.depth <= criteria.SHALLOW_DEPTH:
        share, shown = criteria.SHALLOW_BEAM * tool.depth / criteria.SHALLOW_DEPTH, criteria.SHOWN_WEB[wood.pores]
    along, across = (
        _tried(tool, recipe.web_along, recipe.wall_along),
        _tried(tool, recipe.web_across, recipe.wall_across),
    )
    upright = (recipe.wall_along, recipe.wall_across) == (None, None) and (along, across) != (None, None)
    height_share = _height_share(recipe, along, across) if upright else criteria.WEB_OF_DEPTH
    return WebLimits(
        along if along is not None else max(shown, share * wood.web_along),
        across if across is not None else max(shown, share * wood.web_across),
        least_by_height(depth, slope, height_share),
        grain,
        0.0 if upright else slope,
        recipe.web_clean if tool.cutter.is_beam and recipe.web_clean is not None else shown,
        height_share,
        along is not None,
        across is not None,
        (recipe.wall_along, recipe.wall_across) if slope else (None, None),
        recipe.tested_depth,
    )


def _tried(tool: Tool, stood: float | None, wall: float | None) -> float | None:
    """Return the least web that the shop's test piece showed in one direction, None if it showed none.

    stood: that did not break out; wall: between V-cuts, at the surface, and as thick as it must be beside the deepest. Between
    a beam's marks it must have stayed clean as well, where that was looked at.
    """
    if tool.method == "vee" and wall is not None:
        return wall_needed(wall, tool.recipe.tested_depth, wall_slope(tool))
    clean = tool.recipe.web_clean if tool.cutter.is_beam else None
    return max((web for web in (stood, clean) if web is not None), default=None)


def _height_share(recipe: Recipe, along: float | None, across: float | None) -> float:
    """Return the thickness over its height that a wall needs: what stood on the test piece, as high as it was there."""
    stood = max(web for web in (along, across) if web is not None)
    return (
        min(criteria.WEB_OF_DEPTH, stood / recipe.tested_depth) if recipe.tested_depth > 0.0 else criteria.WEB_OF_DEPTH
    )


def wall_needed(wall: float, tested: float, slope: float, depth: float = math.inf) -> float:
    """Return how thick at its top a wall beside V-cuts so deep must be, if one `wall` thick stood beside cuts `tested` deep.

    With w at its top and slope m a knock bends it by z / (w + m z)^2, most at its foot, or at z = w / m if that is higher up
    (tapered cantilever; Gere, Mechanics of Materials): beside deeper cuts it must be as strong there. Never less than what
    stood, since nothing thinner did. tested: 0 where it is not known.
    """
    foot = min(tested, wall / slope) if tested > 0.0 else wall / slope
    bends = foot / (wall + slope * foot) ** 2
    beside_deep = 1.0 / (4.0 * slope * bends)
    needed = beside_deep if depth >= beside_deep / slope else math.sqrt(depth / bends) - slope * depth
    return max(wall, needed)


def wall_slope(tool: Tool) -> float:
    """Return by how much a wall between two cuts is thicker for each mm further down, both its sides together."""
    return tool.cutter.widening if tool.method == "vee" else 0.0


def least_by_height(depth: float, slope: float, share: float = criteria.WEB_OF_DEPTH) -> float:
    """Return how thick the top of a wall beside a cut must be for its height: a share of it, half, where it breaks.

    With w at its top and slope m it is w + m z thick at depth z. It breaks at its foot, or at z = w / m if that is
    higher up, where 2 w against w / (2 m) is enough from m = 1/4 on: between V-cuts of 15 degrees and more.
    """
    if slope >= criteria.WEB_OF_DEPTH / criteria.WIDENED_AT_BREAK:
        return 0.0
    return max(0.0, (share - slope) * depth)
