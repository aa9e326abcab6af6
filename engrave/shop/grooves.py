"""The groove a cutter leaves when it follows a line at a depth. All lengths in mm."""

from __future__ import annotations

import math

from engrave.shop.models import Cutter, Recipe


def groove_at(cutter: Cutter, depth: float, recipe: Recipe | None = None) -> float:
    """Return the width of the groove at the wood's face.

    End mill: its diameter D. Ball nose of radius R: 2 sqrt(2 R z - z^2), D below R (a chord of the circle); one that
    tapers by a whole angle a goes over into its cone where that touches the ball, R (1 - sin(a/2)) above its point.
    V-bit and half-round of whole angle a and tip t: t + 2 z tan(a/2), at most D (point-tool depth and width as in
    Machinery's Handbook). Drag bit: its tip. Beam: its mark, as measured for the recipe or else the cutter's; the
    wider of its two directions, since webs close by it.
    """
    if cutter.kind == "beam":
        return max(mark_of(cutter, recipe))
    if cutter.kind == "drag-bit":
        return cutter.tip or 0.0
    diameter = cutter.diameter or 0.0
    if cutter.kind == "end-mill":
        return diameter
    if cutter.kind == "ball-nose":
        at, width = _taper_begins(cutter)
        z = min(depth, at)
        return (
            2.0 * math.sqrt(max(0.0, diameter * z - z * z))
            if depth <= at
            else width + 2.0 * (depth - at) * _slope(cutter)
        )
    return min(diameter, (cutter.tip or 0.0) + 2.0 * depth * _slope(cutter))


def depth_for(cutter: Cutter, groove: float) -> float | None:
    """Return the depth at which a pointed or round cutter leaves that groove; None if it cannot, or any depth does."""
    if cutter.kind in ("v-bit", "half-round"):
        depth = (groove - (cutter.tip or 0.0)) / (2.0 * _slope(cutter))
        return depth if depth > 0 and groove <= (cutter.diameter or 0.0) else None
    if cutter.kind == "ball-nose":
        radius = (cutter.diameter or 0.0) / 2
        at, width = _taper_begins(cutter)
        if groove > width:
            return at + (groove - width) / (2.0 * _slope(cutter)) if cutter.angle else None
        return radius - math.sqrt(radius**2 - (groove / 2) ** 2) if groove > 0 else None
    return None


def least_width(cutter: Cutter, depth: float, recipe: Recipe | None = None) -> float:
    """Return what limits the thinnest stroke the cutter can clear: a V-bit's tip, else its groove."""
    if cutter.kind in ("v-bit", "half-round"):
        return cutter.tip or 0.0
    return groove_at(cutter, depth, recipe)


def mark_of(cutter: Cutter, recipe: Recipe | None = None) -> tuple[float, float]:
    """Return the width of a beam's mark along x and y: the recipe's, measured on a test piece, before the cutter's."""
    x = recipe.mark_x if recipe and recipe.mark_x else cutter.kerf_x
    y = recipe.mark_y if recipe and recipe.mark_y else cutter.kerf_y
    return (x or y or 0.0, y or x or 0.0)


def _taper_begins(cutter: Cutter) -> tuple[float, float]:
    """Return how far above a ball's point its taper, or else its straight shank, begins, and how wide it is there."""
    radius, half = (cutter.diameter or 0.0) / 2, math.radians((cutter.angle or 0.0) / 2)
    return radius * (1.0 - math.sin(half)), 2.0 * radius * math.cos(half)


def _slope(cutter: Cutter) -> float:
    """Return the half width gained by each mm of depth."""
    return math.tan(math.radians((cutter.angle or 0.0) / 2))
