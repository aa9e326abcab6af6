"""What a way to break the words costs in looks: uneven lines, a short last line, what stands at the ends of lines."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import groupby, pairwise

import numpy as np

from engrave.geometry.arrays import Floats
from engrave.setting.fit.layout import Layout
from engrave.setting.fit.line_breaking import Break
from engrave.setting.reading_frame import ReadingFrame
from engrave.shop.models import Setting

LINE_MIDDLE = 0.4
"""Caps above the baseline where a line's room is measured: half-way up between small letters and capitals."""

ROOM_HEIGHTS = 48
"""Heights at which a room's width is tabled: every 2 mm on a lid of 100 mm."""

UNEVEN_SHARE = 2.0
"""A line that fills half as much as the widest costs `even` whole: from there on it looks like an accident."""

OPENED_WITHIN = 0.25
"""Share of the size given up rather than part one field by a knob that could stand between two: as much as for what must
stay together (our eye, no source)."""

STRAY_HEIGHT = 0.3
"""Caps: an ornament lower than this is a mere line, which alone beyond a knob looks like a slip."""

SHORT_WORD = 3
"""Letters up to which a word alone on a line looks forgotten."""

LONE_PRICE = 0.015
"""Share of the size, twice: what an '&' on a line of its own between two single words costs; it takes a line for one
letter."""

LONE_AMONG_MORE = 0.12
"""The same between names of several words, where it stands among lines that are much wider."""

FURTHER_SHARE = 0.1
"""Share of their price that further joints cost once the dearest is paid for."""


@dataclass(frozen=True, slots=True)
class _LineLooks:
    """What a line is judged by, whatever stands beside it. lone: an '&' alone; single: one word; short: one that looks forgotten.

    price: of the joint at its end. begins, follows: what it costs that the eye joins what a comma parts, as the first
    line of its field and as any other.
    """

    field: int
    width: float
    lone: bool
    single: bool
    short: bool
    price: float
    begins: float
    follows: float


@dataclass(frozen=True, slots=True, eq=False)
class BreakJudge:
    """Judges breaks of one layout on one place. heights, widths: how wide the room is where."""

    layout: Layout
    setting: Setting
    middle: float
    heights: Floats
    widths: Floats
    _room: tuple[list[float], list[float]]
    _looks: dict[int, _LineLooks] = field(default_factory=dict)

    def loss(self, of: Break) -> float:
        """Return what a break costs in looks, as a share of the size: the less the better."""
        size = self.size_free(of)
        return size + self.setting.fewer_lines * (len(of.lines) - 1)

    def bare(self, lines: Sequence[int]) -> float:
        """Return what lines cost in looks at least, wherever they stand: their number, and what stands at their ends."""
        cost = self.setting.fewer_lines * (len(lines) - 1)
        for _, run in groupby(map(self._line, lines), key=lambda line: line.field):
            some = list(run)
            if len(some) > 1:
                cost += self._parted(some) + self.setting.short_line * sum(line.short for line in some)
                cost += some[0].begins + sum(line.follows for line in some[1:])
        return cost

    def size_free(self, of: Break) -> float:
        """Return the cost of uneven lines, a short last line, and what stands at lines' ends."""
        setting = self.setting
        cost = OPENED_WITHIN if of.opened and (self._opens_within(of) or self._strays(of)) else 0.0
        fills = self._fill(of)
        at = 0
        for _, run in groupby(map(self._line, of.lines), key=lambda line: line.field):
            lines = list(run)
            fill = fills[at : at + len(lines)]
            at += len(lines)
            if len(lines) == 1:
                continue
            cost += self._parted(lines) + setting.short_line * sum(line.short for line in lines)
            cost += lines[0].begins + sum(line.follows for line in lines[1:])
            cost += setting.even * min(UNEVEN_SHARE * (1 - min(fill) / max(fill)), UNEVEN_SHARE)
            widest = max(line.width for line in lines)
            if lines[-1].width < setting.last_line * widest and fill[-1] < setting.last_line * max(fill):
                cost += setting.even
        return cost

    def _line(self, number: int) -> _LineLooks:
        found = self._looks.get(number)
        if found is None:
            found = self._looks[number] = self._looked_at(number)
        return found

    def _looked_at(self, number: int) -> _LineLooks:
        layout = self.layout
        start, end = layout.ends[number]
        unit, single = layout.units[start], end - start == 1
        short = single and not unit.lone and sum(c.isalnum() for c in unit.text) <= SHORT_WORD
        begins, follows = (self.setting.straddle * self._straddles(start, end, first) for first in (True, False))
        price = layout.units[end - 1].price
        return _LineLooks(
            layout.field_of[start], layout.widths[number], unit.lone and single, single, short, price, begins, follows
        )

    def _opens_within(self, of: Break) -> bool:
        """Tell whether a gap opens inside one of several fields, where it could stand between two."""
        layout = self.layout
        if layout.field_of[0] == layout.field_of[-1]:
            return False
        above, below = (layout.field_of[layout.ends[of.lines[of.opened + k]][0]] for k in (-1, 0))
        return above == below

    def _strays(self, of: Break) -> bool:
        """Tell whether nothing but a rule stands beyond an opened gap."""
        units = self.layout.units[self.layout.ends[of.lines[of.opened]][0] :]
        return bool(units) and not any(u.text or np.ptp(u.hull[:, 1]) > STRAY_HEIGHT for u in units)

    def _parted(self, lines: Sequence[_LineLooks]) -> float:
        """Return the price of the joints at the ends of a field's lines, none of which alone tells the whole story.

        Together they cost hardly more than the dearest joint that there is, as no more size than that is given up.
        """
        total = 0.0
        for a, b in pairwise(lines):
            single = LONE_PRICE if a.single and b.single else LONE_AMONG_MORE
            total += single if a.lone or b.lone else a.price
        most = max(self.setting.joint_strong, self.setting.ampersand)
        return total if total <= most else most + FURTHER_SHARE * (total - most)

    def _straddles(self, start: int, end: int, first: bool) -> bool:
        """Tell whether a line has a stop within, and begins or ends within a phrase: the eye joins what the comma parts."""
        units = self.layout.units
        inner = any(u.stops for u in units[start : end - 1])
        whole = units[end - 1].stops and (first or units[start - 1].stops)
        return inner and not whole

    def _fill(self, of: Break) -> list[float]:
        """Return how much of the room's width at its height each line fills, per mm of cap."""
        drops = self.layout.drops(of.lines)
        whole = max(drops) + 1.0
        # The size is not known here: the block is taken as filling the room from top to bottom, as it nearly does
        # where evenness matters.
        low, high = self._room[0][0], self._room[0][-1]
        at = [high - (high - low) * (drop + 1.0 - LINE_MIDDLE) / whole for drop in drops]
        return [self.layout.widths[n] / self._width_at(y) for n, y in zip(of.lines, at, strict=True)]

    def _width_at(self, y: float) -> float:
        """Return the room's width at a height between two that are tabled; as `numpy.interp`, which is slow for one."""
        heights, widths = self._room
        k = min(max(bisect_right(heights, y) - 1, 0), len(heights) - 2)
        slope = (widths[k + 1] - widths[k]) / (heights[k + 1] - heights[k])
        return slope * (min(max(y, heights[0]), heights[-1]) - heights[k]) + widths[k]


def judge_of(layout: Layout, setting: Setting, frame: ReadingFrame) -> BreakJudge:
    """Return a judge of breaks on a place."""
    _, low, _, high = layout.room.box
    heights = np.linspace(low, high, ROOM_HEIGHTS + 2)[1:-1]
    widths = layout.chords(heights)
    return BreakJudge(layout, setting, frame.middle, heights, widths, (heights.tolist(), widths.tolist()))
