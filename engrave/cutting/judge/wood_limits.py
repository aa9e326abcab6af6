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
    """Least webs in mm: along and across the grain, and half the depth. grain: direction of the fibres."""

    along: float
    across: float
    half_depth: float
    grain: Literal["x", "y"]

    def least(self, site: NarrowPlace) -> float:
        """Return the wood's least web at a place: a web that runs with the fibres may be thinner."""
        return self.along if runs_along(site.axis, self.grain) else self.across


def runs_along(axis: float | None, grain: Literal["x", "y"]) -> bool:
    """Tell whether a web's long axis lies within 30 degrees of the fibres; one without direction is short grain."""
    if axis is None:
        return False
    off = axis if grain == "x" else axis - math.pi / 2.0
    return abs((off + math.pi / 2.0) % math.pi - math.pi / 2.0) <= criteria.ALONG_GRAIN + 1e-9


def web_limits(tool: Tool, wood: Wood, grain: Literal["x", "y"], depth: float) -> WebLimits:
    """Return the least webs for this tool in this wood: the shop's test piece before the wood's own figures."""
    shallow = tool.cutter.is_beam and tool.depth <= criteria.SHALLOW_DEPTH
    share = criteria.SHALLOW_BEAM if shallow else 1.0
    along, across = tool.recipe.web_along, tool.recipe.web_across
    return WebLimits(
        along if along is not None else share * wood.web_along,
        across if across is not None else share * wood.web_across,
        criteria.WEB_OF_DEPTH * depth,
        grain,
    )
