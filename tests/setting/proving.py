"""Rooms at random, and a proof for the free axis that shares nothing with the search for it.

What fits on any axis of a stretch fits on its middle one in the room drawn out sideways by half the stretch. So a
stretch is ruled out by the solver for one axis (itself held against proved fits), else halved.
"""

from __future__ import annotations

import numpy as np
from shapely import Point, Polygon, affinity, box, unary_union

from engrave.setting.fit.layout import Stack
from engrave.setting.fit.prepared_room import prepare_room
from engrave.setting.fit.solver import SizeSearch

SHRINK = 0.985
"""Ratio of sizes asked about one after the other."""

NARROWEST = 0.004
"""mm: a stretch this narrow that can be neither ruled out nor filled is left undecided."""


def rooms(seed: int, count: int) -> list[Polygon]:
    """Return rooms with bays, holes and slanted sides, not mirrored about anything; some are convex."""
    rng = np.random.default_rng(seed)
    out: list[Polygon] = []
    while len(out) < count:
        angles = np.sort(rng.uniform(0, 2 * np.pi, int(rng.integers(5, 14))))
        radii = rng.uniform(25, 60, len(angles))
        room = Polygon(np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])).buffer(0)
        kind = int(rng.integers(0, 4))
        room = [room, room.convex_hull, room.buffer(4).buffer(-4), box(-60, -38, 60, 38)][kind]
        for _ in range(int(rng.integers(0, 4))):
            x, y, r = rng.uniform(-45, 45), rng.uniform(-35, 35), rng.uniform(3, 11)
            thing = Point(x, y).buffer(r, quad_segs=10) if rng.random() < 0.6 else box(x - r, y - r / 2, x + r, y + r)
            room = room.difference(thing) if room.difference(thing).geom_type == "Polygon" else room
        if room.geom_type == "Polygon" and room.area > 1200:
            out.append(affinity.translate(room, float(rng.uniform(-5, 5)), 0.0))
    return out


def drawn_out(room: Polygon, by: float) -> Polygon:
    """Return a room drawn out level by so many mm to either side."""
    parts = [affinity.translate(room, -by), affinity.translate(room, by)]
    for ring in (room.exterior, *room.interiors):
        c = np.asarray(ring.coords)
        for a, b in zip(c[:-1], c[1:], strict=True):
            side = Polygon([(a[0] - by, a[1]), (a[0] + by, a[1]), (b[0] + by, b[1]), (b[0] - by, b[1])])
            if side.area > 1e-12:
                parts.append(side.convex_hull)
    return unary_union(parts)


def larger_anywhere(room: Polygon, stack: Stack, size: float, most: float, stretches: int = 600) -> float | None:
    """Return a size above `size` that fits on some axis; None if there is none. most: what surely fits nowhere."""
    low, _, high, _ = room.bounds
    half = (high - low) / 16
    todo = [(low + half * (2 * k + 1), half) for k in range(8)]
    real = SizeSearch(prepare_room(room), stack, 0.0)
    drawn: dict[float, SizeSearch] = {}
    for _ in range(stretches):
        if not todo:
            return None
        middle, half = todo.pop()
        wider = drawn.setdefault(half, SizeSearch(prepare_room(drawn_out(room, half)), stack, 0.0))
        wider.move(middle)
        if not _fits(wider, size, most):
            continue
        real.move(middle)
        found = real.best(float("inf"), size)
        if found:
            return found[1]
        if half > NARROWEST:
            todo += [(middle - half / 2, half / 2), (middle + half / 2, half / 2)]
    return None


def _fits(search: SizeSearch, low: float, high: float) -> bool:
    size = high
    while size > low:
        if search.break_at(size):
            return True
        size *= SHRINK
    return search.break_at(low) is not None
