"""Lines of one size held against a room that is not convex: how low and how high each may stand, and round what.

A line is a row of slices, upright strips with straight tops and bottoms. It can touch the room only where a slice begins
or ends, or at a corner of the room that pokes in. Slices that meet have one border there: what is highest and lowest on
either side is known once for all sizes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engrave.geometry.arrays import Floats
from engrave.setting.fit.prepared_room import TOUCHING_LIMITS, PreparedRoom

Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class LineBorders:
    """Where the slices of some lines begin and end, in caps of ratio 1, line after line.

    x, top, bottom (n,): each border, with the highest and the lowest ink on either side. before, behind (2, n): top and
    bottom of the slice that ends there, and of the one that begins (-inf, inf: none). ends: borders where a slice only
    ends; both: whether one ends and one begins. opens: border where each slice begins; it ends at the next one. slices
    (4, m): its top and bottom at both, as (top, top, bottom, bottom). starts, first: first border and slice of each line.
    """

    x: Floats
    top: Floats
    bottom: Floats
    before: Floats
    behind: Floats
    ends: Ints
    both: NDArray[np.bool_]
    opens: Ints
    slices: Floats
    starts: Ints
    first: Ints


def borders_of(slices: Floats, first: Ints) -> LineBorders:
    """Return the borders of slices (m, 6), each left, right, top at both, bottom at both. first: each line's first slice."""
    left, right, *inks = np.ascontiguousarray(slices.T)
    meets = np.zeros(len(left), dtype=bool)
    meets[:-1] = left[1:] == right[:-1]
    meets[first[1:] - 1] = False
    opens = np.arange(len(left))
    opens[1:] += np.cumsum(~meets)[:-1]
    count = len(left) + int((~meets).sum())
    x, before, behind = np.empty(count), np.empty((2, count)), np.empty((2, count))
    x[opens + 1], x[opens] = right, left
    for side in (before, behind):
        side[0], side[1] = -np.inf, np.inf
    behind[0, opens], before[0, opens + 1], behind[1, opens], before[1, opens + 1] = inks
    ended, begun = np.isfinite(before[0]), np.isfinite(behind[0])
    top, bottom = np.maximum(before[0], behind[0]), np.minimum(before[1], behind[1])
    return LineBorders(
        x, top, bottom, before, behind, np.flatnonzero(ended & ~begun), ended & begun, opens, np.array(inks), opens[first],
        first,
    )  # fmt: skip


class LineProbe:
    """The points of lines of one size on one axis that must be held against a room: borders, and the room's corners."""

    def __init__(self, room: PreparedRoom, of: LineBorders, size: float, axis: float) -> None:
        self._room, self._of, self._size = room, of, size
        self._x = of.x * size + axis
        self._top, self._bottom = of.top * size, of.bottom * size
        self._which, self._corner = self._corners_in()
        self._corner_top, self._corner_bottom = self._at_corners()
        # lines that have corners of the room in them, and the first of these
        begin = np.searchsorted(self._which, of.first)
        some = np.flatnonzero(np.append(begin[1:], len(self._which)) > begin)
        self._cornered, self._begin = some, begin[some]

    def _corners_in(self) -> tuple[Ints, Ints]:
        """Return pairs (slice, corner) with the corner's x inside the slice."""
        corners, x, opens = self._room.corners, self._x, self._of.opens
        if not len(corners):
            return np.empty(0, dtype=np.intp), np.empty(0, dtype=np.intp)
        first = np.searchsorted(corners, x, side="right")[opens]
        many = np.maximum(np.searchsorted(corners, x, side="left")[opens + 1] - first, 0)
        some = np.flatnonzero(many)
        first, many = first[some], many[some]
        within = np.arange(many.sum()) - np.repeat(np.cumsum(many) - many, many)
        return np.repeat(some, many), np.repeat(first, many) + within

    def _at_corners(self) -> tuple[Floats, Floats]:
        """Return top and bottom of the lines' ink at the corners in them."""
        opens, at = self._of.opens[self._which], self._room.corners[self._corner]
        left, right = self._x[opens], self._x[opens + 1]
        share = (at - left) / np.maximum(right - left, TOUCHING_LIMITS)
        top0, top1, bottom0, bottom1 = self._of.slices.take(self._which, axis=1) * self._size
        return top0 + share * (top1 - top0), bottom0 + share * (bottom1 - bottom0)

    def limits(self) -> tuple[list[float], list[float]]:
        """Return the lowest and highest baseline of each line, obstacles aside."""
        room, of, x = self._room, self._of, self._x
        slab = np.searchsorted(room.x, x + TOUCHING_LIMITS, side="right") - 1
        slab[of.ends] = np.searchsorted(room.x, x[of.ends] - TOUCHING_LIMITS, side="left") - 1
        floor, ceiling, start = room.heights_at(x, slab)
        low, high = floor - self._bottom, ceiling - self._top
        # where a border of the room is, slices before and behind it stand in two slabs
        twice = np.flatnonzero(of.both & (start >= x - TOUCHING_LIMITS))
        if len(twice):
            top, bottom = of.behind[:, twice] * self._size
            before = np.searchsorted(room.x, x[twice] - TOUCHING_LIMITS, side="left") - 1
            under, over, _ = room.heights_at(x[twice], before)
            top_before, bottom_before = of.before[:, twice] * self._size
            low[twice] = np.maximum(floor[twice] - bottom, under - bottom_before)
            high[twice] = np.minimum(ceiling[twice] - top, over - top_before)
        under, over = room.corner_heights
        lows = self._by_line(low, under[self._corner] - self._corner_bottom, np.maximum)
        return lows, self._by_line(high, over[self._corner] - self._corner_top, np.minimum)

    def around(self) -> tuple[list[list[float]], list[list[float]]]:
        """Return for each line and obstacle the highest baseline under it and the lowest over it."""
        below, above = [], []
        at = self._room.corners[self._corner]
        for o in self._room.obstacles:
            lows, highs = [], []
            for x, top, bottom in (
                (self._x, self._top, self._bottom),
                (at, self._corner_top, self._corner_bottom),
            ):
                meets = (x >= o.x[0] - TOUCHING_LIMITS) & (x <= o.x[-1] + TOUCHING_LIMITS)
                low, high = np.full(len(x), np.inf), np.full(len(x), -np.inf)
                here = x[meets]
                low[meets] = np.interp(here, o.x, o.low) - top[meets]
                high[meets] = np.interp(here, o.x, o.high) - bottom[meets]
                lows.append(low)
                highs.append(high)
            below.append(self._by_line(lows[0], lows[1], np.minimum))
            above.append(self._by_line(highs[0], highs[1], np.maximum))
        if not below:
            none: list[list[float]] = [[] for _ in self._of.starts]
            return none, none
        return [list(of) for of in zip(*below, strict=True)], [list(of) for of in zip(*above, strict=True)]

    def _by_line(self, borders: Floats, corners: Floats, most: np.ufunc) -> list[float]:
        """Return the most of what stands at each line's points."""
        out = most.reduceat(borders, self._of.starts)
        if len(self._begin):
            out[self._cornered] = most(out[self._cornered], most.reduceat(corners, self._begin))
        return list(out.tolist())
