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

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from shapely.geometry.base import BaseGeometry

from engrave.setting.intervals import EVERYWHERE, Spans, join, meet, shifted, without
from engrave.setting.layout import Layout, Stack
from engrave.setting.programme import most
from engrave.setting.spaces import Space, space

Mode = Literal["centred", "free"]

EXACT = 1e-6
"""Relative: what 'just above the best' means in a convex room; a hundredth of a micrometre on a letter of 10 mm."""

STEP = 0.97
"""Ratio of sizes tried one after the other where smaller need not be easier: at 0.93 a fit 39 % larger was missed."""

FINE = 0.001
"""Relative: what 'just above the best' means in any other room; a hundredth of a millimetre on a letter of 10 mm."""

FEWEST_MM = 0.2
"""mm: sizes below are not searched; no cutter makes them and no eye reads them."""


@dataclass(frozen=True, slots=True)
class Fit:
    """A place for the words. cap: mm of ratio 1. lines: (first unit, after last unit) each. x: their axis, mm.

    baselines: y of each line, mm, y up.
    """

    cap: float
    lines: tuple[tuple[int, int], ...]
    x: float
    baselines: tuple[float, ...]


def largest(
    room: BaseGeometry | Space, stack: Stack, mode: Mode = "centred", axis: float = 0.0, tidy: bool = False
) -> Fit | None:
    """Return the largest fit of the words in the room, or None if they fit at no size worth cutting.

    room: mm, y up. axis: x on which lines are centred in mode 'centred'; in mode 'free' it is found. tidy: nothing
    may stand between two lines of one field unless their gap opens around it.
    """
    prepared = room if isinstance(room, Space) else space(room)
    if mode == "free":
        from engrave.setting.free import largest_free

        return largest_free(prepared, stack, tidy)
    return Search(prepared, stack, axis, tidy).largest()


class Search:
    """Questions about words in a room on one axis. Keeps what is common to all sizes; holds no answers."""

    def __init__(self, room: Space, stack: Stack, axis: float, tidy: bool = False, least: float = FEWEST_MM) -> None:
        self.room, self.stack, self.axis, self.tidy, self.least = room, stack, axis, tidy, least
        self.layout = Layout(room, stack, axis, least)

    def largest(self, ceiling: float = float("inf"), floor: float = 0.0) -> Fit | None:
        """Return the largest fit not above `ceiling`; None if there is none above `floor` and the least size."""
        if not self.layout.complete:
            return None
        if self.room.convex:
            return self._largest_convex(ceiling, floor)
        return self._largest_any(ceiling, floor)

    # convex rooms

    def _largest_convex(self, ceiling: float, floor: float) -> Fit | None:
        floor = max(floor, self.least)
        high = min(ceiling, self.layout.bound())
        if high < floor:
            return None
        found = self.break_at(high)
        if found is not None:
            return self.fit(found, high)
        low = floor
        found = self.break_at(low)
        if found is None:
            return None
        while True:
            best = min(self._programme(found), high)
            low = max(low, best)
            middle = min((low * high) ** 0.5, low * 1.15)
            better = self.break_at(middle) if middle > low * (1 + EXACT) else None
            if better is None:
                high = min(high, middle)
                better = self.break_at(low * (1 + EXACT)) if high > low * (1 + 2 * EXACT) else None
                if better is None:
                    return self.fit(found, low)
            found = better

    def _programme(self, lines: Sequence[int]) -> float:
        """Return the size of the best fit of one break in a convex room."""
        room = self.room
        rows = np.column_stack([room.normals[:, 1], self.layout.supports(lines)])
        best = most(rows, room.offsets - room.normals[:, 0] * self.axis)
        return float(best[1]) if best is not None else 0.0

    # any room

    def _largest_any(self, ceiling: float, floor: float) -> Fit | None:
        floor = max(floor, self.least)
        bound = self._hull_bound(min(ceiling, self.layout.bound()), floor)
        if bound is None:
            return None
        size, found = bound, self.break_at(bound)
        above = bound
        while found is None:
            above, size = size, size * STEP
            if size < floor:
                return None
            found = self.break_at(size)
        return self._polished(found, size, above)

    def _hull_bound(self, ceiling: float, floor: float) -> float | None:
        hull = Search(space(self.room.shape.convex_hull), self.stack, self.axis, False, self.least)
        best = hull.largest(ceiling, floor)
        return best.cap if best is not None else None

    def _polished(self, found: tuple[int, ...], size: float, above: float) -> Fit:
        """Raise a fit as far as its own break allows, then see whether another break fits just above; repeat."""
        for share in (0.75, 0.5, 0.25):
            between = size + share * (above - size)
            better = self.break_at(between) if between > size else None
            if better is not None:
                found, size = better, between
                break
        while True:
            size = self.raised(found, size, above)
            better = self.break_at(size * (1 + FINE)) if size * (1 + FINE) <= above else None
            if better is None:
                return self.fit(found, size)
            found, size = better, size * (1 + FINE)

    def raised(self, lines: tuple[int, ...], size: float, above: float) -> float:
        """Return the greatest size up to `above` that a break reaches from `size` by halving."""
        low, high = size, above
        while high - low > 1e-5 * low:
            middle = (low + high) / 2
            if self.firsts(lines, middle):
                low = middle
            else:
                high = middle
        return low

    # one size

    def break_at(self, size: float) -> tuple[int, ...] | None:
        """Return some break (as line numbers of the layout) that fits at a size, or None."""
        return next(self.breaks_at(size), None)

    def breaks_at(self, size: float) -> Iterator[tuple[int, ...]]:
        """Yield every break that fits at a size, those with longer first lines first."""
        passes = self._passes(size)
        if passes is None:
            return
        yield from self._walk((), EVERYWHERE, 0.0, passes, size, 0)

    def _walk(
        self, before: tuple[int, ...], may: Spans, drop: float, passes: Passes, size: float, at: int
    ) -> Iterator[tuple[int, ...]]:
        """Yield breaks from unit `at` on; may: first baselines still possible, drop: from the first baseline to here."""
        layout = self.layout
        for line in reversed(layout.starting[at]):
            here = passes.ends.get(line)
            if here is None:
                continue
            gap = layout.gap(before[-1], line) * size if before else 0.0
            still = meet(may, shifted(here, drop + gap))
            if before and still:
                still = shifted(self._unwedged(shifted(still, -drop), before[-1], line, gap, passes), drop)
            if not still:
                continue
            end = layout.spans_of(line)[1]
            if end == layout.count:
                yield (*before, line)
            else:
                yield from self._walk((*before, line), still, drop + gap, passes, size, end)

    def _passes(self, size: float) -> Passes | None:
        """Work from the last word to the first: where each line may stand so that all after it still fits."""
        layout = self.layout
        fits = layout.baselines(size)
        passes = Passes(fits.spans, {}, fits.below, fits.above)
        joined: list[Spans] = [()] * layout.count + [EVERYWHERE]
        simple = not (self.tidy and layout.has_obstacles)
        for at in range(layout.count - 1, -1, -1):
            for line in layout.starting[at]:
                spans = fits.spans.get(line, ())
                if spans:
                    end = layout.spans_of(line)[1]
                    if end < layout.count:
                        spans = self._followed(line, end, spans, joined, passes, size, simple)
                    if spans:
                        passes.ends[line] = spans
            joined[at] = join(s for line in layout.starting[at] for s in passes.ends.get(line, ()))
        return passes if joined[0] else None

    def _followed(
        self, line: int, end: int, spans: Spans, joined: list[Spans], passes: Passes, size: float, simple: bool
    ) -> Spans:
        layout = self.layout
        if simple:
            gap = layout.gap(line, layout.starting[end][0]) * size
            return meet(spans, shifted(joined[end], gap))
        found: list[tuple[float, float]] = []
        for below in layout.starting[end]:
            if below in passes.ends:
                gap = layout.gap(line, below) * size
                found += self._unwedged(meet(spans, shifted(passes.ends[below], gap)), line, below, gap, passes)
        return join(found)

    def _unwedged(self, spans: Spans, line: int, below: int, gap: float, passes: Passes) -> Spans:
        """Take away the baselines of `line` at which an obstacle would stand between it and the line below."""
        if not (self.tidy and self.layout.has_obstacles):
            return spans
        for low, high in zip(passes.above.get(line, ()), passes.below.get(below, ()), strict=False):
            if low > -np.inf and high < np.inf:
                spans = without(spans, low - EXACT, high + gap + EXACT)
        return spans

    def firsts(self, lines: Sequence[int], size: float) -> Spans:
        """Return the first baselines at which one break fits at a size."""
        fits = self.layout.baselines(size, lines)
        passes = Passes(fits.spans, {}, fits.below, fits.above)
        may: Spans = EVERYWHERE
        drop = 0.0
        for k, line in enumerate(lines):
            gap = self.layout.gap(lines[k - 1], line) * size if k else 0.0
            if k:
                may = shifted(self._unwedged(shifted(may, -drop), lines[k - 1], line, gap, passes), drop)
            drop += gap
            may = meet(may, shifted(fits.spans.get(line, ()), drop))
        return may

    def fit(self, lines: Sequence[int], size: float, wish: float | None = None) -> Fit:
        """Return the fit of a break at a size; of the places possible, that nearest to the wish or in the middle."""
        firsts = self.firsts(lines, size) or self.firsts(lines, size * (1 - 1e-9))
        low, high = max(firsts, key=lambda s: s[1] - s[0])
        first = (low + high) / 2 if wish is None else min(max(wish, low), high)
        drops = self.layout.drops(lines)
        return Fit(
            size,
            tuple(self.layout.spans_of(line) for line in lines),
            self.axis,
            tuple(first - drop * size for drop in drops),
        )


@dataclass(slots=True)
class Passes:
    """One size's answers by line number: spans where it fits, `ends` where all after it fits too.

    below, above: for each obstacle the highest baseline under it and the lowest over it (-inf, inf: not in the way).
    """

    spans: dict[int, Spans]
    ends: dict[int, Spans]
    below: dict[int, tuple[float, ...]]
    above: dict[int, tuple[float, ...]]
