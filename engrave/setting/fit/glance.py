"""At a glance: which lines may be part of a break at a size at all, before they are held against the room itself.

Each word is drawn with few corners inside its ink, the room with few corners around itself; gaps between lines may be as
wide as they like. What does not fit even so fits in no way. Most sizes that are tried from the top down end here, and of
a long text's lines at any other size only those that are wide enough, and not too wide, for the place where they come.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engrave.geometry.arrays import Floats
from engrave.setting.fit.intervals import INFINITY, Spans
from engrave.setting.fit.layout import Layout, free_spans, strip_of
from engrave.setting.fit.line_probe import LineProbe
from engrave.setting.fit.prepared_room import TOUCHING_LIMITS

CORNER_EACH = 4
"""Of a word's corners every so many are kept, with its ends, its highest and its lowest."""

ROUNDING = 1e-7
"""mm: what is given to lines at a glance, so that one that just fits is never lost."""


@dataclass(frozen=True, slots=True)
class Glimpse:
    """What a glance at a size shows, by line number. alone: lines that may fit by themselves; able: as part of a break."""

    alone: frozenset[int]
    able: tuple[int, ...]


class Glance:
    """All lines of a layout, roughly, in a room that is not convex."""

    def __init__(self, layout: Layout) -> None:
        """Draw the lines, narrowest first, so that those that are not too wide at a size come before all others."""
        self._layout, self._room = layout, layout.room.rough
        self._order = sorted(range(len(layout.ends)), key=layout.widths.__getitem__)
        self._widths = np.array([layout.widths[n] for n in self._order])
        self._borders = layout.borders_in(strip_of(layout, rougher), self._order)

    def at(self, sizes: Sequence[float]) -> list[Glimpse]:
        """Return what is seen at sizes, all looked at together."""
        wide = (self._layout.room.width + ROUNDING) / np.array(sizes)
        many = self._widths.searchsorted(wide, "right")
        most = int(many.max())
        if not most:
            return [Glimpse(frozenset(), ()) for _ in sizes]
        probe = LineProbe(self._room, self._borders.upto(most), np.array(sizes), self._layout.axis)
        low, high = probe.limits()
        below, above = probe.around()
        return [
            self._seen(
                size,
                self._spans(
                    low[k] - ROUNDING, high[k] + ROUNDING, below[k] + ROUNDING, above[k] - ROUNDING, int(many[k])
                ),
            )
            for k, size in enumerate(sizes)
        ]

    def _spans(self, low: Floats, high: Floats, below: Floats, above: Floats, many: int) -> dict[int, Spans]:
        """Return where the first so many lines may stand, those that may anywhere."""
        out: dict[int, Spans] = {}
        shut = ((low[:many] > below[:many].T) & (high[:many] < above[:many].T)).any(axis=0)
        some = np.flatnonzero((low[:many] <= high[:many] + TOUCHING_LIMITS) & ~shut)
        ends = zip(low[some].tolist(), high[some].tolist(), strict=True)
        things = zip(below[some].tolist(), above[some].tolist(), strict=True)
        for k, (lowest, highest), (under, over) in zip(some.tolist(), ends, things, strict=True):
            spans = free_spans(lowest, highest, under, over)
            if spans:
                out[self._order[k]] = spans
        return out

    def _seen(self, size: float, spans: dict[int, Spans]) -> Glimpse:
        rest = self._from_below(size, spans)
        return Glimpse(frozenset(spans), self._from_above(size, spans, rest) if rest else ())

    def _from_below(self, size: float, spans: dict[int, Spans]) -> dict[int, float]:
        """Return by line how low it may stand at least for what comes after it to fit; {} if nothing can begin the words."""
        layout = self._layout
        lowest = [INFINITY] * layout.count + [-INFINITY]
        out: dict[int, float] = {}
        for at in range(layout.count - 1, -1, -1):
            for line in layout.starting[at]:
                over = lowest[layout.ends[line][1]] + layout.gaps[line] * size - ROUNDING
                for low, high in spans.get(line, ()):
                    if high >= over:
                        out[line] = over
                        lowest[at] = min(lowest[at], max(low, over) + layout.rises[line] * size)
                        break
        return out if lowest[0] < INFINITY else {}

    def _from_above(self, size: float, spans: dict[int, Spans], rest: dict[int, float]) -> tuple[int, ...]:
        """Return the lines that have room for what comes before them and after them."""
        layout = self._layout
        highest = [INFINITY] + [-INFINITY] * layout.count
        out: list[int] = []
        for at in range(layout.count):
            for line in layout.starting[at] if highest[at] > -INFINITY else ():
                under = highest[at] - layout.rises[line] * size + ROUNDING
                top = max((min(high, under) for low, high in spans.get(line, ()) if low <= under), default=-INFINITY)
                if line in rest and top >= rest[line]:
                    out.append(line)
                    end = layout.ends[line][1]
                    highest[end] = max(highest[end], top - layout.gaps[line] * size)
        return tuple(sorted(out))


def rougher(slices: Floats) -> Floats:
    """Return slices (m, 6) of a convex word with fewer corners, inside of it; those of any other word as they are."""
    if len(slices) <= CORNER_EACH or (slices[1:, 0] != slices[:-1, 1]).any():
        return slices
    x = np.append(slices[:, 0], slices[-1, 1])
    top, bottom = (np.append(slices[:, i], slices[-1, i + 1]) for i in (2, 4))
    keep = np.zeros(len(x), dtype=bool)
    keep[::CORNER_EACH] = True
    keep[[-1, int(top.argmax()), int(bottom.argmin())]] = True
    kept = np.flatnonzero(keep)
    a, b = kept[:-1], kept[1:]
    if (top < np.interp(x, x[kept], top[kept])).any() or (bottom > np.interp(x, x[kept], bottom[kept])).any():
        return slices
    return np.column_stack([x[a], x[b], top[a], top[b], bottom[a], bottom[b]])
