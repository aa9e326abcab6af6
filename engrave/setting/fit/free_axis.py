"""Where the axis is not given: lids that mirror nothing, and the pure question of the largest fit anywhere.

In a convex room whole stretches of axes are ruled out at once: what fits on any axis of a stretch fits on its middle one
in the room drawn out sideways by half the stretch, and in a convex room what fits, fits smaller. In any other room, bit
rows tell for all axes at once which breaks may fit at a size and where; a linear programme takes each to its best size,
and finer rows then tell whether anything larger is left.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice

import numpy as np

from engrave.geometry.arrays import Floats
from engrave.geometry.linear_program import solve
from engrave.setting.fit.layout import Stack
from engrave.setting.fit.line_breaking import Break
from engrave.setting.fit.prepared_room import PreparedRoom
from engrave.setting.fit.room_rows import Footing, RoomColumns, RoomRows, columns_of, envelopes_of
from engrave.setting.fit.solver import CONVEX_ACCURACY, OPENED_GAIN, Fit, SizeSearch
from engrave.setting.fit.steepest import steepest_way

FREE_ACCURACY = 2e-4
"""Relative: what 'larger' means when axes are ruled out: two micrometres on a letter of 10 mm."""

FIRST_STRETCHES = 4
"""Stretches of axes asked about first in a convex room; each that may hold more is halved."""

MOST_STRETCHES = 400
"""Stretches asked about at most; thirty are usual."""

COARSE_COLUMN, FINE_COLUMN = 0.5, 0.25
"""mm: columns in which a room is first looked at, and those in which it is asked whether anything larger is left."""

FREE_STEP = 0.985
"""Ratio of sizes looked at in coarse columns: what they round up to is about as much, so that nothing falls between."""

FINE_STEPS = (1.0015, 1.006)
"""Sizes above the best found that are looked at in fine columns."""

BREAKS_SEEN, BREAKS_LED = 64, 4
"""Breaks a size that are looked at, and those of them with the most places, which are taken to their best."""

EASED, EASED_FINE = 0.012, 0.006
"""Shares by which words begin smaller than the size they were found at, as columns round in their favour."""

SPOTS_LED, SPOTS_LED_FINE = 2, 6
"""Spots a stretch of axes that are taken to their best, while sizes are looked at from the top down, and in the end."""

KICKS = (-0.3, -0.08, 0.08, 0.3)
"""mm by which the best is pushed off its axis in the end: at a corner of what it touches, a programme stands still."""

KICKED = 0.002
"""Share by which it is made smaller for that."""

SETBACKS = (0.0, 1e-5, 2e-4, 2e-3)
"""Shares of a programme's size that are given up one after the other until its words are inside."""

CENTROID_SHARE = 0.97
"""A lid without an axis has its words on its centroid if they come out at least this share as large there."""


@dataclass(frozen=True, slots=True)
class Found:
    """A break with its size and axis, mm."""

    chosen: Break
    size: float
    axis: float


def largest_free(room: PreparedRoom, stack: Stack, tidy: bool = False) -> Fit | None:
    """Return the largest fit with the axis free, or None."""
    search = SizeSearch(room, stack, room.shape.centroid.x, tidy)
    found = best_free(search)
    if found is None:
        return None
    search.move(found.axis)
    return search.fit(found.chosen, found.size)


def best_axis(room: PreparedRoom, stack: Stack, ceiling: float, least: float) -> float | None:
    """Return the axis for words on a lid that has none of its own: the room's centroid, unless elsewhere is larger."""
    centroid = float(room.shape.centroid.x)
    search = SizeSearch(room, stack, centroid, True, least)
    own = search.best(ceiling)
    if own and own[1] >= ceiling * (1 - CONVEX_ACCURACY):
        return centroid
    found = best_free(search, ceiling)
    if found is None or (own and own[1] >= CENTROID_SHARE * found.size):
        return centroid if own else None
    return found.axis


def best_free(search: SizeSearch, ceiling: float = float("inf")) -> Found | None:
    """Return the best break on any axis, up to a ceiling in mm; None if none fits at the search's least size."""
    if not search.layout.complete or min(ceiling, search.layout.bound()) < search.least:
        return None
    return _in_convex(search, ceiling) if search.room.convex else _InAny(search, ceiling).best()


# --- convex rooms ------------------------------------------------------------------------------------------------


def _in_convex(search: SizeSearch, ceiling: float) -> Found | None:
    low, _, high, _ = search.room.box
    half = (high - low) / 2 / FIRST_STRETCHES
    middles = [low + half * (2 * k + 1) for k in range(FIRST_STRETCHES)]
    best = _slid(search, float(search.room.shape.centroid.x), ceiling, search.least)
    asked = 0
    open_ = sorted(((m, half) for m in middles), key=lambda s: -abs(s[0] - (low + high) / 2))
    while open_ and asked < MOST_STRETCHES and (best is None or best.size < ceiling * (1 - CONVEX_ACCURACY)):
        middle, half = open_.pop()
        asked += 1
        search.move(middle, half)
        above = best.size * (1 + FREE_ACCURACY) if best else search.least
        found = search.break_at(min(above, ceiling))
        if found is None:
            continue
        place = _place(search, found)
        if place is not None and place[2] > above:
            best = _slid(search, float(place[0]), ceiling, above * (1 - CONVEX_ACCURACY)) or best
        if half > CONVEX_ACCURACY * search.room.width:
            open_ += [(middle - half / 2, half / 2), (middle + half / 2, half / 2)]
    return best


def _slid(search: SizeSearch, axis: float, ceiling: float, floor: float) -> Found | None:
    """Return the best break on an axis slid to where it is largest, and so on until no other is larger there."""
    search.move(axis)
    found = search.best(ceiling, floor)
    best = None
    while found is not None:
        chosen, size = found
        best = Found(chosen, size, search.axis)
        place = _place(search, chosen)
        if size >= ceiling or place is None or place[2] <= size * (1 + CONVEX_ACCURACY):
            break
        search.move(float(place[0]))
        found = search.best(ceiling, size * (1 + CONVEX_ACCURACY))
    return best


def _place(search: SizeSearch, of: Break) -> Floats | None:
    """Return axis, first baseline and size of the best fit of one break in a convex room."""
    rows = np.column_stack([search.room.normals, search.layout.supports(of.lines)])
    return solve(rows, search.room.offsets)


# --- any other room ----------------------------------------------------------------------------------------------


class _InAny:
    """The search in a room with holes or bays, from the hull's best size down."""

    def __init__(self, search: SizeSearch, ceiling: float) -> None:
        self.search, self.ceiling = search, ceiling
        self.found: Found | None = None
        self.envelopes = envelopes_of(search.layout)
        self.led: set[tuple[tuple[int, ...], int, int, int]] = set()

    def best(self) -> Found | None:
        bound = self._bound()
        if bound is None:
            return None
        size = self._from_hull(bound)
        coarse = columns_of(self.search.room, COARSE_COLUMN)
        while size >= self.search.least and (self.found is None or size > self.found.size):
            self._look(coarse, size, SPOTS_LED, EASED)
            size = size * FREE_STEP
        fine: RoomColumns | None = None
        while self.found is not None and self.found.size < self.ceiling * (1 - CONVEX_ACCURACY):
            self._climb()
            before = self.found.size
            fine = fine or columns_of(self.search.room, FINE_COLUMN)
            self.led.clear()
            for step in FINE_STEPS:
                if self._look(fine, min(before * step, self.ceiling), SPOTS_LED_FINE, EASED_FINE):
                    break
            if self.found.size <= before * (1 + FREE_ACCURACY):
                break
        return self.found

    def _bound(self) -> Found | None:
        search = self.search
        gain = OPENED_GAIN if search.may_open else 1.0
        layout = search.layout
        hull = SizeSearch(
            search.room.hull, search.stack, search.axis, False, search.least / gain, layout.align, layout.block
        )
        return _in_convex(hull, self.ceiling)

    def _from_hull(self, bound: Found) -> float:
        """Take the hull's best as found if it is clear of everything; return the size from which to look."""
        search = self.search
        search.move(bound.axis)
        if search.fits(bound.chosen, bound.size):
            self.found = bound
            if not search.may_open:
                return bound.size
        gain = OPENED_GAIN if search.may_open else 1.0
        return min(bound.size * (1 + FREE_ACCURACY) * gain, self.ceiling)

    def _look(self, columns: RoomColumns, size: float, spots: int, eased: float) -> bool:
        """Take what may fit at a size to its best; tell whether that raised what was found."""
        before = self.found.size if self.found else 0.0
        rows = RoomRows(columns, self.search.layout, self.envelopes, size, self.search.may_open)
        seen = sorted(islice(rows.breaks(), BREAKS_SEEN), key=lambda b: -b[1].bit_count())
        for lines, places in seen[:BREAKS_LED]:
            for footing in rows.footings(lines, places, spots):
                self._lead(footing, size, eased)
        return self.found is not None and self.found.size > before

    def _is_there(self, lines: tuple[int, ...], axis: float, size: float) -> bool:
        """Tell whether a footing is where the best found so far is."""
        best = self.found
        near = best is not None and abs(axis - best.axis) < COARSE_COLUMN and size < best.size * FINE_STEPS[0] * 1.0001
        return best is not None and near and best.chosen.lines == lines

    def _lead(self, footing: Footing, size: float, eased: float) -> None:
        """Take a break from a footing to its best, and keep it if it is the largest."""
        lines, axis, first = footing
        key = lines, round(axis * 2), round(first), round(50 * np.log(size))
        if key in self.led or self._is_there(lines, axis, size):
            return
        self.led.add(key)
        if not self._raised(lines, size, axis, first, eased) and self.search.may_open:
            floor = self.found.size if self.found else self.search.least
            found = self.search.best(min(size, self.ceiling), floor)
            if found is not None:
                self.found = Found(*found, self.search.axis)

    def _climb(self) -> None:
        """Push the best off its axis to either side, as long as it grows by that."""
        grows = self.found is not None and not self.found.chosen.opened
        while grows and self.found is not None:
            of = self.found
            self.search.move(of.axis)
            first = self.search.stand(of.chosen, of.size)[0]
            tries = (self._raised(of.chosen.lines, of.size, of.axis + kick, first, KICKED) for kick in KICKS)
            grows = any(tries) and self.found.size > of.size * (1 + CONVEX_ACCURACY)

    def _raised(self, lines: tuple[int, ...], size: float, axis: float, first: float, eased: float) -> bool:
        """Take a break, a little smaller, from a place to its best; keep it and tell so if it is the largest."""
        search = self.search
        middle = search.layout.drops(lines)[-1] / 2
        led = steepest_way(search.layout, lines, size * (1 - eased), axis, first - eased * size * middle)
        search.move(axis if led is None else led[1])
        floor = self.found.size if self.found else search.least
        for setback in SETBACKS if led is not None else ():
            smaller = min(led[0], self.ceiling) * (1 - setback) if led is not None else 0.0
            if smaller <= floor:
                return False
            if search.fits(Break(lines), smaller):
                self.found = Found(Break(lines), smaller, search.axis)
                return True
        return False
