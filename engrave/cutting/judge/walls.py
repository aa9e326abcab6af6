"""How deep a V-bit cuts beside a web: as deep as the stroke that begins there is wide, not as the widest of the piece."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from shapely import dwithin, get_coordinates, points, prepare, segmentize
from shapely.geometry.polygon import orient

from engrave.cutting.effect.cupping import vee_depth
from engrave.cutting.measure.components import Component
from engrave.cutting.measure.narrow_places import NarrowPlace
from engrave.geometry.regions import polygons
from engrave.tasks import Tool

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

WALL_STEP = 0.005
"""Cap heights between the places of an outline from which circles are found: a tenth of a thin serif."""

WALL_TANGENT = 0.05
"""Sine of the angle (3 degrees) within which a place lies along the wall itself, and says nothing of the stroke."""

WALL_REACH = 0.5
"""Web widths to either side that a wall within a letter is followed: one shorter than it is thick is no wall."""

GAP_ALIKE = 1.1
"""Times the narrowest gap between two letters up to which their wall goes on, all along two stems."""

ROUGH_PLACES = 8
"""Of so many places of an outline one is looked at first, to know within which distance all must be."""

MOST_WALL_PLACES = 64
"""Places of a wall's side that are tried at most, evenly along it."""


def depths_beside(place: NarrowPlace, parts: Sequence[Component], tool: Tool) -> tuple[float, float]:
    """Return in mm how deep it is cut beside a web, least and most: by the largest circles in the ink along its sides."""
    beside = [part for part in parts if set(part.marks) & set(place.marks)]
    if len(beside) == 2:
        widths = [_along_gap(one, other, place.width) for one, other in (beside, beside[::-1])]
    else:
        widths = [width_at(side, WALL_REACH * place.width, part) for side in _sides(place) for part in beside]
    depths = [min(tool.depth, vee_depth(tool.cutter, width)) for width in widths] or [tool.depth]
    return min(depths), max(depths)


def _sides(site: NarrowPlace) -> tuple[Floats, Floats]:
    """Return about where a web's two sides stand; of a round one its middle, twice."""
    middle, across = np.array([site.x, site.y]), np.zeros(2)
    if site.axis is not None:
        across = site.width / 2.0 * np.array([-math.sin(site.axis), math.cos(site.axis)])
    return middle + across, middle - across


def _along_gap(one: Component, other: Component, gap: float) -> float:
    """Return in mm how wide the widest stroke of a letter is where its neighbour is hardly farther than the gap."""
    places, inwards = _outline(one)
    prepare(other.on_lid)
    near = np.flatnonzero(dwithin(points(places), other.on_lid, GAP_ALIKE * gap))
    return width_beside(places, inwards, near, one)


def width_at(place: Floats, within: float, body: Component) -> float:
    """Return in mm how wide the widest stroke of a letter is `within` mm of the outline's place nearest to one."""
    places, inwards = _outline(body)
    away = np.hypot(*(places - place).T)
    foot = places[away.argmin()]
    return width_beside(places, inwards, np.flatnonzero(np.hypot(*(places - foot).T) <= within), body)


def width_beside(places: Floats, inwards: Floats, near: Ints, body: Component) -> float:
    """Return in mm how wide the stroke is that begins at one of the places: the largest circle touching from inside.

    Through a further place q of the outline runs the circle of radius |q - p|^2 / (2 n (q - p)) that touches at p, n
    being the way inwards there: the smallest of them has no edge inside it (the shrinking ball; Ma, Bae & Choi 2012).
    """
    near = near[:: max(1, math.ceil(len(near) / MOST_WALL_PLACES))]
    least = 0.5 * WALL_STEP * body.cap_mm
    some = _circles(places[near], inwards[near], places[::ROUGH_PLACES], least)
    if len(near) and np.isfinite(some).all():
        # a circle's radius is half its chord at least: what stands farther off makes none of them smaller
        away = 2.0 * some.max() + least
        low, high = places[near].min(axis=0) - away, places[near].max(axis=0) + away
        places, at = places[((places >= low) & (places <= high)).all(axis=1)], places[near]
    else:
        at = places[near]
    radius = _circles(at, inwards[near], places, least)
    return 2.0 * float(radius[np.isfinite(radius)].max(initial=0.0))


def _circles(at: Floats, inwards: Floats, through: Floats, least: float) -> Floats:
    """Return the radius of the smallest circle that touches at each place and goes through another one, inf without one."""
    to = through[None, :, :] - at[:, None, :]
    ahead = to[..., 0] * inwards[:, 0][:, None] + to[..., 1] * inwards[:, 1][:, None]
    square = to[..., 0] ** 2 + to[..., 1] ** 2
    facing = (ahead > WALL_TANGENT * np.sqrt(square)) & (square > least**2)
    return np.asarray(
        np.where(facing, square / np.where(facing, 2.0 * ahead, 1.0), math.inf).min(axis=1, initial=math.inf)
    )


def _outline(body: Component) -> tuple[Floats, Floats]:
    """Return places along a letter's outline, (n, 2), and the way into the ink from each."""
    places, inwards = [], []
    for part in polygons(body.on_lid):
        ordered = orient(part)  # the ink lies to the left of every ring
        for ring in (ordered.exterior, *ordered.interiors):
            ring_points = get_coordinates(segmentize(ring, WALL_STEP * body.cap_mm))[:-1]
            along = np.roll(ring_points, -1, axis=0) - np.roll(ring_points, 1, axis=0)
            left = np.column_stack([-along[:, 1], along[:, 0]])
            places.append(ring_points)
            inwards.append(left / np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-12)[:, None])
    return np.concatenate(places), np.concatenate(inwards)
