"""By how much a tool closes the wood between its cuts."""

from __future__ import annotations

import math
from dataclasses import dataclass

from engrave.tasks import Tool


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


def mark_closing(tool: Tool) -> Closing:
    """Return the width of a beam's mark along x and y: the shop's test piece, else its cutter, else the tool's."""
    x, y = tool.cutter.mark(tool.recipe)
    return Closing(x or tool.diameter, y or tool.diameter)


def closing_of(tool: Tool, as_lines: bool, groove: float) -> Closing:
    """Return how much the wood between drawn edges (or centre lines) is thinner when it has been cut."""
    if tool.cutter.is_beam and not (tool.recipe.inset and not as_lines):
        return mark_closing(tool)
    return Closing(groove, groove) if as_lines else Closing(0.0, 0.0)
