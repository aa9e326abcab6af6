"""The room of a lid, made ready for solving: its edges if it is convex, its upright slabs and obstacles if not.

Frame: mm, y up. A room that is not convex is cut into upright slabs between neighbouring corners; in each, the free
parts lie between straight edges. What blocks the way between the lowest and the highest free part is an obstacle: a
hole, or a bay that reaches in from the side.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from engrave.geometry.arrays import Floats, distinct
from engrave.geometry.regions import polygons

TOUCHING_LIMITS = 1e-9
"""mm: two limits nearer than this count as one, so that a fit that just touches above and below is kept."""

GAP_DISTANCE = 1e9
"""mm: where the room has a gap, its floor is so far above and its ceiling so far below; finite, to be reckoned with."""

CONVEX_SHARE = 1e-9
"""Share of the hull's area that a room may lack and still count as convex: rounding of chords, nothing seen."""


@dataclass(frozen=True, slots=True, eq=False)
class Obstacle:
    """Something in the way: at x its lower edge is `low`, its upper edge `high` (piecewise straight between `x`)."""

    x: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True, eq=False)  # without slots: its hull is kept with it
class PreparedRoom:
    """A room for solving.

    normals, offsets: edges of its convex hull, n x <= b. For rooms that are not convex: `x` (m + 1) the slabs'
    borders, `floor` and `ceiling` of shape (m, 2) their lowest and highest free y at the left and right border,
    `obstacles`, and `corners`: x of corners that poke into the room.
    """

    shape: BaseGeometry
    normals: Floats
    offsets: Floats
    convex: bool
    width: float
    area: float
    box: tuple[float, float, float, float]
    x: Floats
    floor: Floats
    ceiling: Floats
    obstacles: tuple[Obstacle, ...]
    corners: Floats

    @cached_property
    def hull(self) -> PreparedRoom:
        """The room's convex hull, made ready; for bounds."""
        return prepare_room(self.shape.convex_hull)

    @cached_property
    def slabs(self) -> Floats:
        """Of each slab, (6, m): its left border and width; floor and ceiling, each at the left and what it rises by."""
        x, floor, ceiling = self.x, self.floor, self.ceiling
        rises = floor[:, 1] - floor[:, 0], ceiling[:, 1] - ceiling[:, 0]
        return np.array([x[:-1], x[1:] - x[:-1], floor[:, 0], rises[0], ceiling[:, 0], rises[1]])

    def heights_at(self, x: Floats, slab: NDArray[np.intp]) -> tuple[Floats, Floats, Floats]:
        """Return floor and ceiling at places (n,) that count to given slabs, and where these begin; inf, -inf outside."""
        start, wide, floor, rise, ceiling, climb = self.slabs.take(slab, axis=1, mode="clip")
        share = np.minimum(np.maximum((x - start) / wide, 0.0), 1.0)
        under, over = floor + share * rise, ceiling + share * climb
        outside = (slab < 0) | (slab >= len(self.x) - 1)
        if outside.any():
            under[outside], over[outside], start[outside] = np.inf, -np.inf, np.inf
        return under, over, start

    @cached_property
    def corner_heights(self) -> tuple[Floats, Floats]:
        """Floor and ceiling at each of the corners, the nearer of those before and behind it."""
        sides = [
            np.searchsorted(self.x, self.corners, side="right"),
            np.searchsorted(self.x, self.corners, side="left"),
        ]
        (under, over, _), (floor, ceiling, _) = (self.heights_at(self.corners, side - 1) for side in sides)
        return np.maximum(under, floor), np.minimum(over, ceiling)


def prepare_room(shape: BaseGeometry) -> PreparedRoom:
    """Return a room made ready. Raises ValueError for an empty one."""
    parts = polygons(shape)
    if not parts:
        raise ValueError("an empty room")
    normals, offsets = edges(shape.convex_hull)
    convex = len(parts) == 1 and shape.convex_hull.area - shape.area <= CONVEX_SHARE * shape.area
    box = shape.bounds
    empty = np.empty(0)
    flat = np.empty((0, 2))
    if convex:
        return PreparedRoom(
            shape, normals, offsets, True, box[2] - box[0], shape.area, box, empty, flat, flat, (), empty
        )
    x, floor, ceiling, obstacles = _slabs(parts)
    gaps = (x[:-1] + x[1:])[floor[:, 0] > ceiling[:, 0]] / 2  # no letter may bridge a gap between two parts
    corners = distinct(np.concatenate([_reflex(parts), gaps, *(o.x for o in obstacles)]))
    return PreparedRoom(
        shape, normals, offsets, False, box[2] - box[0], shape.area, box, x, floor, ceiling, obstacles, corners
    )


def edges(hull: Polygon) -> tuple[Floats, Floats]:
    """Return outward unit normals (n, 2) and offsets (n,) of a convex polygon's sides."""
    ring = np.asarray(hull.exterior.coords)
    if hull.exterior.is_ccw:
        ring = ring[::-1]
    along = np.diff(ring, axis=0)
    length = np.hypot(*along.T)
    keep = length > 0
    along, start = along[keep] / length[keep, None], ring[:-1][keep]
    normals = np.column_stack([-along[:, 1], along[:, 0]])
    return normals, np.einsum("ij,ij->i", normals, start)


def _reflex(parts: list[Polygon]) -> Floats:
    """Return the x of outline corners at which the room's inner angle is more than a straight one."""
    found = []
    for part in parts:
        ring = np.asarray(part.exterior.coords)[:-1]
        if not part.exterior.is_ccw:
            ring = ring[::-1]
        before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
        found.append(ring[before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0] < 0][:, 0])
    return np.concatenate(found)


def _slabs(parts: list[Polygon]) -> tuple[Floats, Floats, Floats, tuple[Obstacle, ...]]:
    rings = [np.asarray(r.coords) for p in parts for r in (p.exterior, *p.interiors)]
    a, b = np.concatenate([r[:-1] for r in rings]), np.concatenate([r[1:] for r in rings])
    swap = a[:, 0] > b[:, 0]
    a, b = np.where(swap[:, None], b, a), np.where(swap[:, None], a, b)
    upright = a[:, 0] == b[:, 0]
    a, b = a[~upright], b[~upright]
    x = distinct(np.concatenate([a[:, 0], b[:, 0]]))
    slope = (b[:, 1] - a[:, 1]) / (b[:, 0] - a[:, 0])
    slab, side = np.nonzero((a[:, 0] <= x[:-1, None]) & (b[:, 0] >= x[1:, None]))
    x0, x1 = x[slab], x[slab + 1]
    order = np.lexsort((a[side, 1] + slope[side] * ((x0 + x1) / 2 - a[side, 0]), slab))
    left = (a[side, 1] + slope[side] * (x0 - a[side, 0]))[order]
    right = (a[side, 1] + slope[side] * (x1 - a[side, 0]))[order]
    first = np.searchsorted(slab, np.arange(len(x)))
    floor, ceiling = np.full((len(x) - 1, 2), GAP_DISTANCE), np.full((len(x) - 1, 2), -GAP_DISTANCE)
    there = first[1:] > first[:-1]  # elsewhere the room is in two parts and nothing stands between them
    lowest, highest = first[:-1][there], first[1:][there] - 1
    floor[there] = np.column_stack([left[lowest], right[lowest]])
    ceiling[there] = np.column_stack([left[highest], right[highest]])
    ends = list(zip(left.tolist(), right.tolist(), strict=True))
    blocked = [
        [(*ends[i], *ends[i + 1]) for i in range(low + 1, high - 1, 2)]
        for low, high in zip(first[:-1].tolist(), first[1:].tolist(), strict=True)
    ]
    return x, floor, ceiling, _chained(x, blocked)


def _chained(x: Floats, blocked: list[list[tuple[float, float, float, float]]]) -> tuple[Obstacle, ...]:
    """Join blocked parts of neighbouring slabs that meet into obstacles."""
    open_: list[list[tuple[float, float, float]]] = []
    done: list[list[tuple[float, float, float]]] = []
    for k, parts in enumerate(blocked):
        still: list[list[tuple[float, float, float]]] = []
        for low0, low1, high0, high1 in parts:
            meets = [c for c in open_ if abs(c[-1][1] - low0) < 1e-6 and abs(c[-1][2] - high0) < 1e-6]
            chain = meets[0] if meets else [(float(x[k]), low0, high0)]
            if meets:
                open_.remove(chain)
            chain.append((float(x[k + 1]), low1, high1))
            still.append(chain)
        done += open_
        open_ = still
    return tuple(Obstacle(*np.array(chain).T) for chain in done + open_)
