"""The room of a lid, made ready for solving: its edges if it is convex, its upright slabs and obstacles if not.

Frame: mm, y up. A room that is not convex is cut into upright slabs between neighbouring corners; in each, the free
parts lie between straight edges. What blocks the way between the lowest and the highest free part is an obstacle: a
hole, or a bay that reaches in from the side.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from engrave.cache import Cache
from engrave.geometry.arrays import Floats, distinct
from engrave.geometry.regions import polygons

TOUCHING_LIMITS = 1e-9
"""mm: two limits nearer than this count as one, so that a fit that just touches above and below is kept."""

GAP_DISTANCE = 1e9
"""mm: where the room has a gap, its floor is so far above and its ceiling so far below; finite, to be reckoned with."""

SLOPE_NOISE = 1e-12
"""Slopes nearer than this are one: a straight piece of a border that only a slab's end parts."""

ROUGH_ROOM = 0.12, 0.08
"""mm by which a room is drawn out for glances, and how far it is smoothed then: the second is less, so that it stays around."""

CONVEX_SHARE = 1e-9
"""Share of the hull's area that a room may lack and still count as convex: rounding of chords, nothing seen."""


@dataclass(frozen=True, slots=True, eq=False)
class Obstacle:
    """Something in the way: at x its lower edge is `low`, its upper edge `high` (piecewise straight between `x`)."""

    x: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True, eq=False)
class RoomEdges:
    """All that words stand on or under: floor and ceiling, then of each obstacle its upper and lower edge.

    Of each pair the second is upside down, so that all are what a baseline with its ink must exceed. `slabs`, with one
    outside before and after all others, (2 + 2 edges, m + 2): where each begins, its width, each edge there, its rise.
    Bends, at slabs' borders, where an edge leaps or bends towards the words: `bend` (n,) their x, `heights` (edges, n),
    `passed` (m + 2,) how many are before each slab or where it starts, `bent` whether one is where it starts.
    """

    slabs: Floats
    bend: Floats
    heights: Floats
    passed: NDArray[np.intp]
    bent: NDArray[np.bool_]

    def heights_at(self, x: Floats, slab: NDArray[np.intp]) -> tuple[Floats, Floats]:
        """Return how high each edge is at places (n,) that count to given slabs, (edges, n), and where these begin."""
        table = self.slabs.take(slab, axis=1)
        share = np.minimum(np.maximum((x - table[0]) / table[1], 0.0), 1.0)
        half = len(table) // 2 + 1
        return np.asarray(table[2:half] + share * table[half:]), table[0]


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
    def kept(self) -> Cache:
        """What was worked out for this room: it goes when the room goes."""
        return Cache()

    @cached_property
    def rough(self) -> PreparedRoom:
        """A room around this one with fewer corners, made ready; for glances."""
        out, smoothed = ROUGH_ROOM
        around = self.shape.buffer(out, quad_segs=2).simplify(smoothed)
        return prepare_room(around, in_slabs=True) if around.covers(self.shape) else self

    @cached_property
    def room_edges(self) -> RoomEdges:
        """Floor, ceiling and obstacles as lines are held against them."""
        pairs = [(self.floor, -self.ceiling), *(_over_slabs(o, self.x) for o in self.obstacles)]
        base = np.array([edge[:, 0] for pair in pairs for edge in pair])
        rise = np.array([edge[:, 1] - edge[:, 0] for pair in pairs for edge in pair])
        start, wide = self.x[:-1], np.diff(self.x)
        slope = rise / wide
        leaps = abs(base[:, :-1] + rise[:, :-1] - base[:, 1:]) > SLOPE_NOISE
        bent = (leaps | (slope[:, :-1] > slope[:, 1:] + SLOPE_NOISE)).any(axis=0)
        bent = np.concatenate([[False, False], bent, [False, False]])[: len(self.x) + 1]
        outside = np.where(np.arange(len(base)) < 2, np.inf, -GAP_DISTANCE)[:, None]
        ends = np.pad(start, 1, constant_values=(-GAP_DISTANCE, GAP_DISTANCE)), np.pad(wide, 1, constant_values=1.0)
        slabs = np.vstack([*ends, np.hstack([outside, base, outside]), np.pad(rise, ((0, 0), (1, 1)))])
        found = RoomEdges(slabs, self.x[bent[1:]], np.empty(0), bent.cumsum(), bent)
        return replace(found, heights=self._beside(found, found.bend))

    def _beside(self, room_edges: RoomEdges, x: Floats) -> Floats:
        """Return each edge's height at slabs' borders, the nearer of those before and behind: (edges, n)."""
        before, behind = (room_edges.heights_at(x, self.x.searchsorted(x, side))[0] for side in ("left", "right"))
        return np.maximum(before, behind)

    @cached_property
    def corner_heights(self) -> tuple[Floats, Floats]:
        """Floor and ceiling at each of the corners, the nearer of those before and behind it."""
        floor, ceiling = self._beside(self.room_edges, self.corners)[:2]
        return floor, -ceiling


def _over_slabs(thing: Obstacle, x: Floats) -> tuple[Floats, Floats]:
    """Return the upper edge of an obstacle, and the lower upside down, over slabs between borders x, both (m, 2)."""
    first, last = x.searchsorted(thing.x[[0, -1]])
    upper, lower = np.full((2, len(x) - 1, 2), -GAP_DISTANCE)
    for edge, own in ((upper, thing.high), (lower, -thing.low)):
        edge[first:last] = np.column_stack([own[:-1], own[1:]])
    return upper, lower


def prepare_room(shape: BaseGeometry, in_slabs: bool = False) -> PreparedRoom:
    """Return a room made ready. in_slabs: even a convex one is cut into slabs. Raises ValueError for an empty one."""
    parts = polygons(shape)
    if not parts:
        raise ValueError("an empty room")
    normals, offsets = edges(shape.convex_hull)
    convex = not in_slabs and len(parts) == 1 and shape.convex_hull.area - shape.area <= CONVEX_SHARE * shape.area
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
