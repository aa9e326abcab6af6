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
from engrave.geometry.arrays import Floats, Ints
from engrave.geometry.regions import polygons
from engrave.tasks import Tool

WALL_STEP = 0.005
"""Cap heights between the places of an outline from which circles are found: a tenth of a thin serif."""

WALL_TANGENT = 0.05
"""Sine of the angle (3 degrees) within which a place lies along the wall itself, and says nothing of the stroke."""

WALL_REACH = 0.5
"""Web widths to either side that a wall within a letter is followed: one shorter than it is thick is no wall."""

GAP_ALIKE = 1.1
"""Times the narrowest gap between two letters up to which their wall goes on, all along two stems."""

ROUGH_PLACES, ROUGHER_PLACES = 8, 64
"""Of so many places of an outline one is looked at first, to know within which distance all must be."""

MOST_WALL_PLACES = 64
"""Places of a wall's side that are tried at most, evenly along it."""

PLACES_AT_ONCE = 4
"""Of these places those are looked at closely that a rough look leaves the largest circles, so many at a time."""

Outline = tuple[Floats, Floats]
"""Places along a letter's outline, (n, 2), and the way into the ink from each."""


class Walls:
    """How deep a tool cuts beside each web of a piece."""

    def __init__(self, strokes: StrokesBeside, tool: Tool) -> None:
        self._strokes, self._tool = strokes, tool

    def depths_beside(self, place: NarrowPlace) -> tuple[float, float]:
        """Return in mm how deep it is cut beside a web, least and most: by the largest circles in the ink along its sides."""
        tool, widths = self._tool, self._strokes.widths(place)
        depths = [min(tool.depth, vee_depth(tool.cutter, width)) for width in widths] or [tool.depth]
        return min(depths), max(depths)


class StrokesBeside:
    """How wide letters' strokes are beside the webs: outlines are followed, and places asked about, once for all tools."""

    def __init__(self, parts: Sequence[Component]) -> None:
        self._parts = parts
        self._outlines: dict[int, Outline] = {}
        self._found: dict[NarrowPlace, list[float]] = {}

    def widths(self, place: NarrowPlace) -> list[float]:
        """Return in mm how wide the strokes on either side of a web are."""
        found = self._found.get(place)
        if found is None:
            found = self._found[place] = self._widths(place)
        return found

    def _widths(self, place: NarrowPlace) -> list[float]:
        parts = self._parts
        beside = [k for k, part in enumerate(parts) if set(part.marks) & set(place.marks)]
        if len(beside) == 2:
            ways = (beside, beside[::-1])
            return [_along_gap(parts[a], parts[b], place.width, self._outline(a)) for a, b in ways]
        reach = WALL_REACH * place.width
        return [width_at(side, reach, parts[k], self._outline(k)) for side in _sides(place) for k in beside]

    def _outline(self, part: int) -> Outline:
        found = self._outlines.get(part)
        if found is None:
            found = self._outlines[part] = _outline(self._parts[part])
        return found


def _sides(site: NarrowPlace) -> tuple[Floats, Floats]:
    """Return about where a web's two sides stand; of a round one its middle, twice."""
    middle, across = np.array([site.x, site.y]), np.zeros(2)
    if site.axis is not None:
        across = site.width / 2.0 * np.array([-math.sin(site.axis), math.cos(site.axis)])
    return middle + across, middle - across


def _along_gap(one: Component, other: Component, gap: float, outline: Outline) -> float:
    """Return in mm how wide the widest stroke of a letter is where its neighbour is hardly farther than the gap."""
    places, inwards = outline
    reach = GAP_ALIKE * gap
    low, high = np.reshape(other.on_lid.bounds, (2, 2)) + [[-2.0 * reach], [2.0 * reach]]
    maybe = np.flatnonzero(_within(places, low, high))
    prepare(other.on_lid)
    near = maybe[dwithin(points(places[maybe]), other.on_lid, reach)]
    return width_beside(places, inwards, near, one)


def _within(places: Floats, low: Floats, high: Floats) -> NDArray[np.bool_]:
    """Tell which places lie in a box."""
    x, y = places[:, 0], places[:, 1]
    return np.asarray((x >= low[0]) & (x <= high[0]) & (y >= low[1]) & (y <= high[1]))


def width_at(place: Floats, within: float, body: Component, outline: Outline) -> float:
    """Return in mm how wide the widest stroke of a letter is `within` mm of the outline's place nearest to one."""
    places, inwards = outline
    square = (places[:, 0] - place[0]) ** 2 + (places[:, 1] - place[1]) ** 2
    nearest = places[square <= square.min() * (1 + 1e-9)]  # before the last digit decides
    foot = nearest[np.hypot(*(nearest - place).T).argmin()]
    near = np.flatnonzero(_within(places, foot - 2.0 * within, foot + 2.0 * within))
    near = near[np.hypot(*(places[near] - foot).T) <= within]
    return width_beside(places, inwards, near, body)


def width_beside(places: Floats, inwards: Floats, near: Ints, body: Component) -> float:
    """Return in mm how wide the stroke is that begins at one of the places: the largest circle touching from inside.

    Through a further place q of the outline runs the circle of radius |q - p|^2 / (2 n (q - p)) that touches at p, n
    being the way inwards there: the smallest of them has no edge inside it (the shrinking ball; Ma, Bae & Choi 2012).
    """
    near = near[:: max(1, math.ceil(len(near) / MOST_WALL_PLACES))]
    at, ways, least = places[near], inwards[near], 0.5 * WALL_STEP * body.cap_mm
    most = _circles(at, ways, places[::ROUGHER_PLACES], least)
    if len(at) and np.isfinite(most).all():
        places = _reached(places, at, float(most.max()), least)
    most = np.minimum(most, _circles(at, ways, places[::ROUGH_PLACES], least))
    if not np.isfinite(most).all():
        radius = _circles(at, ways, places, least)
        return 2.0 * float(radius[np.isfinite(radius)].max(initial=0.0))
    return 2.0 * _largest(at, ways, places, most, least)


def _largest(at: Floats, inwards: Floats, through: Floats, most: Floats, least: float) -> float:
    """Return the largest of the circles' radii, each of which is known to be no larger than its `most`."""
    largest = 0.0
    order = np.argsort(-most, kind="stable")
    for k in range(0, len(order), PLACES_AT_ONCE):
        here = order[k : k + PLACES_AT_ONCE]
        if most[here[0]] <= largest:
            break  # a closer look makes none larger
        near = _reached(through, at[here], float(most[here[0]]), least)
        largest = max(largest, float(_circles(at[here], inwards[here], near, least).max()))
    return largest


def _reached(places: Floats, at: Floats, radius: float, least: float) -> Floats:
    """Return the places that circles through some others may meet: what stands farther off makes none of them smaller.

    A circle's radius is half its chord at least.
    """
    away = 2.0 * radius + least
    return places[_within(places, at.min(axis=0) - away, at.max(axis=0) + away)]


def _circles(at: Floats, inwards: Floats, through: Floats, least: float) -> Floats:
    """Return the radius of the smallest circle that touches at each place and goes through another one, inf without one."""
    x, y = (through[:, k] - at[:, k, None] for k in (0, 1))
    ahead = x * inwards[:, 0, None] + y * inwards[:, 1, None]
    square = x * x + y * y
    facing = (ahead > WALL_TANGENT * np.sqrt(square)) & (square > least**2)
    return np.asarray(
        np.where(facing, square / np.where(facing, 2.0 * ahead, 1.0), math.inf).min(axis=1, initial=math.inf)
    )


def _outline(body: Component) -> Outline:
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
