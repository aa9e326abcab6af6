"""How much wood must be left standing between cuts, and how much is left."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from engrave.cutting import criteria
from engrave.cutting.measure.narrow_places import Site
from engrave.shop.grooves import mark_of as shop_mark
from engrave.shop.models import Wood
from engrave.tasks import Tool


@dataclass(frozen=True, slots=True)
class WebLimits:
    """Least webs in mm: along and across the grain, and half the depth. grain: direction of the fibres."""

    along: float
    across: float
    half_depth: float
    grain: Literal["x", "y"]

    def least(self, site: Site) -> float:
        """Return the wood's least web at a place: a web that runs with the fibres may be thinner."""
        return self.along if runs_along(site.axis, self.grain) else self.across


def runs_along(axis: float | None, grain: Literal["x", "y"]) -> bool:
    """Tell whether a web's long axis lies within 30 degrees of the fibres; one without direction is short grain."""
    if axis is None:
        return False
    off = axis if grain == "x" else axis - math.pi / 2.0
    return abs((off + math.pi / 2.0) % math.pi - math.pi / 2.0) <= criteria.ALONG + 1e-9


def web_limits(tool: Tool, wood: Wood, grain: Literal["x", "y"], depth: float) -> WebLimits:
    """Return the least webs for this tool in this wood: the shop's test piece before the wood's own figures."""
    shallow = tool.cutter.is_beam and tool.depth <= criteria.SHALLOW
    share = criteria.SHALLOW_BEAM if shallow else 1.0
    along, across = tool.recipe.web_along, tool.recipe.web_across
    return WebLimits(
        along if along is not None else share * wood.web_along,
        across if across is not None else share * wood.web_across,
        criteria.WEB_OF_DEPTH * depth,
        grain,
    )


@dataclass(frozen=True, slots=True)
class Closing:
    """By how much a tool closes the wood between its cuts, in mm, along the lid's x and y (a beam's may differ)."""

    x: float
    y: float

    def at(self, axis: float | None) -> float:
        """Return how much a web is thinner than drawn; one without direction loses the greater of the two."""
        if axis is None:
            return max(self.x, self.y)
        # what lies across a web of direction (cos, sin) is (-sin, cos)
        return math.hypot(self.x * math.sin(axis), self.y * math.cos(axis))


def mark_of(tool: Tool) -> Closing:
    """Return the width of a beam's mark along x and y: the shop's test piece, else its cutter, else the tool's."""
    x, y = shop_mark(tool.cutter, tool.recipe)
    return Closing(x or tool.diameter, y or tool.diameter)


def closing_of(tool: Tool, as_lines: bool, groove: float) -> Closing:
    """Return how much the wood between drawn edges (or centre lines) is thinner when it has been cut."""
    if tool.cutter.is_beam and not (tool.recipe.inset and not as_lines):
        return mark_of(tool)
    return Closing(groove, groove) if as_lines else Closing(0.0, 0.0)
