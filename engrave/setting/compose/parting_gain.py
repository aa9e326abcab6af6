"""Whether parting further joints may gain anything at all: told from bounds, so that most such compositions are never made.

A composition in which joints are held less firmly mostly comes out with the very same lines. Where it could only win with
fewer of them, all breaks into so few are gone through: each as large as it may be in the room's hull, wherever its axis, and
losing no more than it does whatever the room.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from engrave.geometry.linear_program import solve
from engrave.setting.compose.break_judge import BreakJudge
from engrave.setting.fit.layout import Layout

BREAKS_BOUNDED = 12
"""Breaks that are held against the room's hull at most: where more may win, the words are composed after all."""

SURELY_LESS = 1e-6
"""Share of the size by which a bound must stay below what it is held against, far above its rounding."""

HALVINGS = 12
"""Times of halving towards the least size at which lines may win: lines too wide for it are left out at once."""


@dataclass(frozen=True, slots=True)
class ToBeat:
    """What a composition must beat. full: its size, mm; looks: what its lines cost; many: how many they are.

    could: the size, mm, of which losses are shares; fill: of a size, what is seen of it; least: the share of the calm size
    below which nothing is given up; beyond: what each share of the size below that costs besides.
    """

    full: float
    looks: float
    many: int
    could: float
    fill: float
    least: float
    beyond: float

    def gain(self, size: float) -> float:
        """Return what words of a size in mm gain by it against these, as a share of the calm size; it grows with the size."""
        least = self.least * self.fill * self.could
        seen = min(size, max(self.fill * size, least)) - min(self.full, max(self.fill * self.full, least))
        return seen / (self.fill * self.could) - self.beyond * max(least - size, 0.0) / self.could

    def may_win(self, looks: float, size: float) -> bool:
        """Tell whether lines that cost so much may lose less than these at a size."""
        return looks - self.looks < self.gain(size) + SURELY_LESS

    def least_size(self) -> float:
        """Return a size below which nothing wins, however it looks."""
        low, high = 0.0, self.full
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            low, high = (low, middle) if self.may_win(0.0, middle) else (middle, high)
        return low


def fewer_may_win(layout: Layout, by: BreakJudge, old: ToBeat, opens: bool) -> bool:
    """Tell whether a break into fewer lines may lose less than an old one.

    layout: all lines that may be, in the room's hull; by: a judge of them. opens: a gap may open round what is in the way;
    then each half is held against the hull by itself.
    """
    bounded = 0
    for lines in _few_lines(layout, old.many - 1, lambda n: old.may_win(_lines_price(by, n), _widest_size(layout, n))):
        looks = by.bare(lines)
        if not old.may_win(looks, _widest_size(layout, lines)):
            continue
        bounded += 1
        if bounded > BREAKS_BOUNDED or old.may_win(looks, _largest_in_hull(layout, lines, opens)):
            return True
    return False


def _lines_price(by: BreakJudge, lines: Sequence[int]) -> float:
    return by.setting.fewer_lines * (len(lines) - 1)


def _widest_size(layout: Layout, lines: Sequence[int]) -> float:
    """Return the size in mm at which the widest of some lines is as wide as the room."""
    return layout.room.width / max(max(layout.widths[n] for n in lines), SURELY_LESS) * (1 + SURELY_LESS)


def _few_lines(layout: Layout, most: int, worth: Callable[[tuple[int, ...]], bool]) -> Iterator[tuple[int, ...]]:
    """Yield the breaks into so few lines, leaving out what begins with lines that are not worth it."""

    def walk(lines: tuple[int, ...], at: int) -> Iterator[tuple[int, ...]]:
        for number in layout.starting[at] if len(lines) < most else ():
            more = (*lines, number)
            if not worth(more):
                continue
            end = layout.ends[number][1]
            if end == layout.count:
                yield more
            else:
                yield from walk(more, end)

    return walk((), 0)


def _largest_in_hull(layout: Layout, lines: tuple[int, ...], opens: bool) -> float:
    """Return the size in mm above which a break fits the hull on no axis; where a gap may open, its halves one by one."""
    if not opens or len(lines) < 2:
        return _fitted(layout, lines)
    return max(min(_fitted(layout, lines[:k]), _fitted(layout, lines[k:])) for k in range(1, len(lines)))


def _fitted(layout: Layout, lines: Sequence[int]) -> float:
    rows = np.column_stack([layout.room.normals, layout.supports(lines)])
    best = solve(rows, layout.room.offsets)
    return float(best[2]) * (1 + SURELY_LESS) if best is not None else float("inf")
