"""Taste as numbers: how large, how small, how even, how high. Figures come from the setting's table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from engrave.setting.frames import Place
from engrave.setting.layout import Layout
from engrave.setting.passes import Break
from engrave.setting.shapes import Floats
from engrave.shop.models import Setting
from engrave.tasks import Task
from engrave.typefaces import Typeface

MIDDLE_OF_LINE = 0.4
"""Caps above the baseline where a line's room is measured: half-way up between small letters and capitals."""

HEIGHTS = 48
"""Heights at which a room's width is tabled: every 2 mm on a lid of 100 mm."""

UNEVEN = 2.0
"""A line that fills half as much as the widest costs `even` whole: from there on it looks like an accident."""


def greatest_cap(place: Place, setting: Setting) -> float:
    """Return the greatest cap height in mm that taste allows on an area, by its kind."""
    share = {"round": setting.greatest_round, "rectangle": setting.greatest_rectangle, "long": setting.greatest_long}
    return share[place.kind] * min(place.width, place.height)


def least_cap(task: Task, field: str, typeface: Typeface) -> float:
    """Return the least cap height in mm of a field: by tool and wood, and so that small letters stay open."""
    setting, wood = task.setting, task.wood
    if task.tool.cutter.is_beam:
        coarse = wood.pores == "ring" or wood.softwood
        least = setting.least_beam_coarse if coarse else setting.least_beam_fine
    else:
        least = setting.least_bit_coarse if wood.pores == "ring" else setting.least_bit_fine
    if field != "name":
        least *= setting.message_least
    return max(least, setting.least_x_height / typeface.x_height)


@dataclass(frozen=True, slots=True, eq=False)
class Judge:
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
            cost += setting.even * min(UNEVEN * (1 - fill.min() / fill.max()), UNEVEN)
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
        at = [high - (high - low) * (drops[n] + 1.0 - MIDDLE_OF_LINE) / whole for n in lines]
        room = np.interp(at, self.heights, self.widths)
        return np.asarray(np.array([self.layout.widths[n] for n in lines]) / room)


def judge(layout: Layout, setting: Setting, place: Place) -> Judge:
    """Return a judge of breaks on a place."""
    _, low, _, high = layout.room.box
    heights = np.linspace(low, high, HEIGHTS + 2)[1:-1]
    return Judge(layout, setting, place.middle, heights, layout.chords(heights))


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
