"""What a way to break the words costs in looks: uneven lines, a short last line, what stands at the ends of lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

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


@dataclass(frozen=True, slots=True, eq=False)
class BreakJudge:
    """Judges breaks of one layout on one place. heights, widths: how wide the room is where."""

    layout: Layout
    setting: Setting
    middle: float
    heights: Floats
    widths: Floats

    def loss(self, of: Break) -> float:
        """Return what a break costs in looks, as a share of the size: the less the better."""
        size = self.size_free(of)
        return size + self.setting.fewer_lines * (len(of.lines) - 1)

    def size_free(self, of: Break) -> float:
        """Return the cost of uneven lines, a short last line, and what stands at lines' ends."""
        layout, setting = self.layout, self.setting
        cost = 0.0
        for lines in _by_field(layout, of.lines):
            cost += sum(layout.units[layout.ends[n][1] - 1].price for n in lines[:-1])
            if len(lines) == 1:
                continue
            fill = self.fill(of, lines)
            cost += setting.even * min(UNEVEN_SHARE * (1 - fill.min() / fill.max()), UNEVEN_SHARE)
            widths = [layout.widths[n] for n in lines]
            if widths[-1] < setting.last_line * max(widths) and fill[-1] < setting.last_line * fill.max():
                cost += setting.even
        return cost

    def fill(self, of: Break, lines: Sequence[int]) -> Floats:
        """Return how much of the room's width at its height each line fills, per mm of cap."""
        drops = dict(zip(of.lines, self.layout.drops(of.lines), strict=True))
        whole = max(drops.values()) + 1.0
        # The size is not known here: the block is taken as filling the room from top to bottom, as it nearly does
        # where evenness matters.
        low, high = self.heights[0], self.heights[-1]
        at = [high - (high - low) * (drops[n] + 1.0 - LINE_MIDDLE) / whole for n in lines]
        room = np.interp(at, self.heights, self.widths)
        return np.asarray(np.array([self.layout.widths[n] for n in lines]) / room)


def judge_of(layout: Layout, setting: Setting, frame: ReadingFrame) -> BreakJudge:
    """Return a judge of breaks on a place."""
    _, low, _, high = layout.room.box
    heights = np.linspace(low, high, ROOM_HEIGHTS + 2)[1:-1]
    return BreakJudge(layout, setting, frame.middle, heights, layout.chords(heights))


def _by_field(layout: Layout, lines: Sequence[int]) -> list[list[int]]:
    out: list[list[int]] = []
    last = -1
    for n in lines:
        fld = layout.field_of[layout.ends[n][0]]
        if fld == last:
            out[-1].append(n)
        else:
            out.append([n])
        last = fld
    return out
