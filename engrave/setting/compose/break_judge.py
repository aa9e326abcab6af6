"""What a way to break the words costs in looks: uneven lines, a short last line, what stands at the ends of lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

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
        cost = OPENED_WITHIN if self._opens_within(of) or self._strays(of) else 0.0
        for lines in _by_field(layout, of.lines):
            if len(lines) == 1:
                continue
            cost += self._parted(lines) + setting.short_line * sum(self._is_short(n) for n in lines)
            cost += setting.straddle * sum(self._straddles(n, n == lines[0]) for n in lines)
            fill = self.fill(of, lines)
            cost += setting.even * min(UNEVEN_SHARE * (1 - fill.min() / fill.max()), UNEVEN_SHARE)
            widths = [layout.widths[n] for n in lines]
            if widths[-1] < setting.last_line * max(widths) and fill[-1] < setting.last_line * fill.max():
                cost += setting.even
        return cost

    def _opens_within(self, of: Break) -> bool:
        """Tell whether a gap opens inside one of several fields, where it could stand between two."""
        layout = self.layout
        if not of.opened or layout.field_of[0] == layout.field_of[-1]:
            return False
        above, below = (layout.field_of[layout.ends[of.lines[of.opened + k]][0]] for k in (-1, 0))
        return above == below

    def _strays(self, of: Break) -> bool:
        """Tell whether nothing but a rule stands beyond an opened gap."""
        units = self.layout.units[self.layout.ends[of.lines[of.opened]][0] :] if of.opened else []
        return bool(units) and not any(u.text or np.ptp(u.hull[:, 1]) > STRAY_HEIGHT for u in units)

    def _parted(self, lines: Sequence[int]) -> float:
        """Return the price of the joints at the ends of a field's lines, none of which alone tells the whole story.

        Together they cost hardly more than the dearest joint that there is, as no more size than that is given up.
        """
        units, ends = self.layout.units, self.layout.ends
        total = 0.0
        for a, b in pairwise(lines):
            lone = any(units[ends[n][0]].lone and self._words(n) == 1 for n in (a, b))
            single = self._words(a) == 1 == self._words(b)
            total += (LONE_PRICE if single else LONE_AMONG_MORE) if lone else units[ends[a][1] - 1].price
        most = max(self.setting.joint_strong, self.setting.ampersand)
        return total if total <= most else most + FURTHER_SHARE * (total - most)

    def _words(self, line: int) -> int:
        return self.layout.ends[line][1] - self.layout.ends[line][0]

    def _straddles(self, line: int, first: bool) -> bool:
        """Tell whether a line has a stop within, and begins or ends within a phrase: the eye joins what the comma parts."""
        start, end = self.layout.ends[line]
        units = self.layout.units
        inner = any(u.stops for u in units[start : end - 1])
        whole = units[end - 1].stops and (first or units[start - 1].stops)
        return inner and not whole

    def _is_short(self, line: int) -> bool:
        """Tell whether a line is one short word (and not an '&' that may stand alone)."""
        start, end = self.layout.ends[line]
        unit = self.layout.units[start]
        return end - start == 1 and not unit.lone and sum(c.isalnum() for c in unit.text) <= SHORT_WORD

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
