"""The largest size at which words fit a room, and where they stand: geometry alone, without taste.

Unknown are the size s (cap height in mm of lines of ratio 1), the line breaks, and the place: t_x, the axis on which
lines are centred, and t_y, the first baseline. For a fixed axis and size, every line that could be made of the words
has a set of baselines at which it fits; a pass from the last word to the first joins these sets over all line breaks
at once, so the question 'does any break fit at this size?' is answered exactly without trying them one by one.

In a convex room a text that fits also fits smaller, and the best size of one break is a linear programme. In a room
with holes or bays that does not hold: a word may clear a knob at 18 mm and not at 11; sizes are then tried from the
top down.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate, repeat
from operator import mul

import numpy as np

from engrave.geometry.linear_program import solve
from engrave.setting.fit.layout import Layout, Stack
from engrave.setting.fit.line_breaking import Break, LineWalker
from engrave.setting.fit.prepared_room import PreparedRoom
from engrave.shop.settings import Align

CONVEX_ACCURACY = 1e-6
"""Relative: what 'just above the best' means in a convex room; a hundredth of a micrometre on a letter of 10 mm."""

SIZE_STEP = 0.97
"""Ratio of sizes tried one after the other where smaller need not be easier: at 0.93 a fit 39 % larger was missed."""

SIZE_ACCURACY = 0.001
"""Relative: what 'just above the best' means in any other room; a hundredth of a millimetre on a letter of 10 mm."""

HULL_EASE = 0.99
"""Share of a size at which words are first held against a room's hull, gaps as wide as they like: with room for rounding."""

RAISED_ACCURACY = 1e-5
"""Relative: where halving towards a break's best size stops; a ten-thousandth of a millimetre on a letter of 10 mm."""

HALVED_AHEAD = 3
"""Times of halving whose middles are worked out together, as a few sizes cost little more than one."""

LOOKED_AHEAD = 5
"""Further sizes that are glanced at together with one, as the next ones to be tried."""

LEAST_SIZE = 0.2
"""mm: sizes below are not searched; no cutter makes them and no eye reads them."""

OPENED_GAIN = 1.35
"""How much larger words in two parts, one above and one below a knob, may be than together without the knob: only
where a room narrows from one part to the other at all, and then by what its sides slope over a knob's height."""


@dataclass(frozen=True, slots=True)
class Fit:
    """A place for the words. cap: mm of ratio 1. lines: (first unit, after last unit) each. x: their axis, mm.

    baselines: y of each line, mm, y up.
    """

    cap: float
    lines: tuple[tuple[int, int], ...]
    x: float
    baselines: tuple[float, ...]


class SizeSearch(LineWalker):
    """Questions about words in a room on one axis. Keeps what is common to all sizes; holds no answers."""

    def __init__(
        self, room: PreparedRoom, stack: Stack, axis: float, tidy: bool = False, least: float = LEAST_SIZE,
        align: Align = "centre", block: float = 0.0, layout: Layout | None = None,
    ) -> None:  # fmt: skip
        super().__init__(room, stack, axis, tidy, least, align, block, layout)
        self.least = least
        self.halved = RAISED_ACCURACY

    def largest(self, ceiling: float = float("inf"), floor: float = 0.0) -> Fit | None:
        """Return the largest fit not above `ceiling`; None if there is none above `floor` and the least size."""
        found = self.best(ceiling, floor)
        return self.fit(*found) if found else None

    def best(
        self, ceiling: float = float("inf"), floor: float = 0.0, opened: bool = True
    ) -> tuple[Break, float] | None:
        """Return the break of the largest fit and its size; None if there is none above `floor`.

        opened: whether the gap between two lines may open around what is in the way.
        """
        floor = max(floor, self.least)
        high = min(ceiling, self.layout.bound()) if self.layout.complete else 0.0
        if high < floor:
            return None
        return self._best_convex(high, floor) if self.room.convex else self._best_any(high, floor, opened)

    def _best_convex(self, high: float, floor: float) -> tuple[Break, float] | None:
        found = self.break_at(high)
        if found is not None:
            return found, high
        found = self.break_at(floor)
        if found is None:
            return None
        low = floor
        while True:
            low = max(low, min(self.most_of(found), high))
            middle = min((low * high) ** 0.5, low * 1.15)
            better = self.break_at(middle) if middle > low * (1 + CONVEX_ACCURACY) else None
            if better is None:
                high = min(high, middle)
                better = self.break_at(low * (1 + CONVEX_ACCURACY)) if high > low * (1 + 2 * CONVEX_ACCURACY) else None
                if better is None:
                    return found, low
            found = better

    def most_of(self, of: Break) -> float:
        """Return the size of the best fit of one break in a convex room."""
        room = self.room
        rows = np.column_stack([room.normals[:, 1], self.layout.supports(of.lines)])
        best = solve(rows, room.offsets - room.normals[:, 0] * self.axis)
        return float(best[1]) if best is not None else 0.0

    def _best_any(self, high: float, floor: float, opened: bool) -> tuple[Break, float] | None:
        found = self.break_at(high, opened) if high < self.layout.bound() else None
        if found is not None:
            return found, high
        self.begin_to_glance()
        hull = self._in_hull()
        bound = self._hull_bound(hull, high, floor, opened)
        if bound is None:
            return None
        size, found = bound, self.break_at(bound, opened)
        above = bound
        while found is None:
            above, size = size, size * SIZE_STEP
            if size < floor:
                return None
            if self._looks_free(size, hull):
                found = self.break_at(size, opened)
        return self._polished(found, size, above, opened)

    def _looks_free(self, size: float, hull: SizeSearch) -> bool:
        """Tell at a glance whether some break may fit at a size, while ever smaller ones are tried."""
        if not self.glances:
            return hull.may_fit(size * HULL_EASE)
        further = accumulate(repeat(SIZE_STEP, LOOKED_AHEAD), mul, initial=size)
        return bool(self.seen_at(*further).able)

    def _in_hull(self) -> SizeSearch:
        """Return the search for the same words in the room's hull, as if nothing were in the way."""
        room, own = self.room.hull, self.layout
        lines = own.in_room(room) if room.width == self.room.width else None
        return SizeSearch(room, self.stack, self.axis, False, self.least, own.align, own.block, lines)

    def _hull_bound(self, hull: SizeSearch, high: float, floor: float, opened: bool) -> float | None:
        best = hull.best(high, min(floor, high / OPENED_GAIN))
        if best is None:
            return None
        bound = min(high, best[1] * OPENED_GAIN) if self.may_open and opened else best[1]
        return bound if bound >= floor else None

    def _polished(self, found: Break, size: float, above: float, opened: bool) -> tuple[Break, float]:
        """Raise a fit as far as its own break allows, then see whether another break fits just above; repeat."""
        for share in (0.75, 0.5, 0.25):
            between = size + share * (above - size)
            better = self.break_at(between, opened) if between > size else None
            if better is not None:
                found, size = better, between
                break
        while True:
            size = self.raised(found, size, above)
            better = self.break_at(size * (1 + SIZE_ACCURACY), opened) if size * (1 + SIZE_ACCURACY) <= above else None
            if better is None:
                return found, size
            found, size = better, size * (1 + SIZE_ACCURACY)

    def raised(self, of: Break, size: float, above: float, worth: float = 0.0) -> float:
        """Return the greatest size up to `above` that a break reaches from `size`; any below `worth` if it stays below that."""
        if self.room.convex:
            return max(size, min(above, self.most_of(of)))
        low, high = size, above
        while high - low > self.halved * low and high >= worth:
            middle = (low + high) / 2
            if (middle, of.lines) not in self._ones:
                self.ready(of.lines, halves(low, high, HALVED_AHEAD))
            if self.fits(of, middle):
                low = middle
            else:
                high = middle
        return low

    def fit(self, of: Break, size: float, wish: float | None = None, wishes: tuple[float, float] | None = None) -> Fit:
        """Return the fit of a break at a size at which it fits, its first baseline as near to the wish as may be.

        wishes: for both halves of a break that opens.
        """
        lines = tuple(self.layout.spans_of(line) for line in of.lines)
        return Fit(size, lines, self.axis, self.stand(of, size, wish, wishes))


def halves(low: float, high: float, times: int) -> list[float]:
    """Return all middles that halving so many times may come to."""
    if not times:
        return []
    middle = (low + high) / 2
    return [middle, *halves(low, middle, times - 1), *halves(middle, high, times - 1)]
