"""Whether parting further joints may gain anything at all: told from bounds, so that most such compositions are never made.

A composition in which joints are held less firmly mostly comes out with the very same lines. Where it could only win with
fewer of them, all breaks into so few are gone through: each as large as it may be in the room's hull, over and under a knob or
else wherever its axis, and losing no more than it does whatever the room.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from engrave.geometry.arrays import Floats
from engrave.geometry.linear_program import solve
from engrave.setting.compose.break_judge import BreakJudge
from engrave.setting.fit.layout import Layout
from engrave.setting.fit.prepared_room import PreparedRoom

BREAKS_BOUNDED = 24
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


@dataclass(frozen=True, slots=True)
class Knob:
    """All that stands in a room's way, on the words' axis: from `low` to `high` there, mm, at least."""

    axis: float
    low: float
    high: float


def knob_on(room: PreparedRoom, axis: float | None) -> Knob | None:
    """Return what is in the way if it is one thing, on the axis; None if it is anything else, or nothing."""
    if axis is None or len(room.obstacles) != 1:
        return None
    thing = room.obstacles[0]
    if not thing.x[0] < axis < thing.x[-1]:
        return None
    return Knob(axis, float(np.interp(axis, thing.x, thing.low)), float(np.interp(axis, thing.x, thing.high)))


@dataclass(frozen=True, slots=True)
class HullBound:
    """Sizes above which lines fit a room on no account. layout: all lines that may be, in the room's hull.

    opens: a gap may open round what is in the way; then what is above it and what is below are held against the hull by
    themselves. knob: what they stand above and below; lines on its axis stand nowhere else, as nothing may stand within.
    """

    layout: Layout
    opens: bool
    knob: Knob | None = None
    _kept: dict[tuple[tuple[int, ...], bool], float] = field(default_factory=dict)

    def reaches(self, lines: tuple[int, ...], wins: Callable[[float], bool]) -> bool:
        """Tell whether lines may come out at a size that wins."""
        n = len(lines)
        parts = range(n + 1) if self.knob is not None else range(1, n) if self.opens and n > 1 else (0,)
        return any(
            (k == 0 or wins(self._largest(lines[:k], True))) and (k == n or wins(self._largest(lines[k:], False)))
            for k in parts
        )

    def _largest(self, lines: tuple[int, ...], above: bool) -> float:
        key = (lines, above and self.knob is not None)
        found = self._kept.get(key)
        if found is None:
            best = self._on_axis(self.knob, lines, above) if self.knob is not None else self._anywhere(lines)
            found = self._kept[key] = float(best[-1]) * (1 + SURELY_LESS) if best is not None else float("inf")
        return found

    def _anywhere(self, lines: Sequence[int]) -> Floats | None:
        room = self.layout.room
        return solve(np.column_stack([room.normals, self.layout.supports(lines)]), room.offsets)

    def _on_axis(self, knob: Knob, lines: Sequence[int], above: bool) -> Floats | None:
        """Return first baseline and size of lines at their largest above or below a knob, their nearest ink clear of it."""
        room, layout = self.layout.room, self.layout
        near = layout.slices_of(lines[-1 if above else 0])
        if above:  # the lowest line's ink begins nowhere higher than this over its baseline
            beside, limit = [-1.0, layout.drops(lines)[-1] - float(near[:, 4:].max())], -knob.high
        else:
            beside, limit = [1.0, float(near[:, 2:4].min())], knob.low
        rows = np.vstack([np.column_stack([room.normals[:, 1], layout.supports(lines)]), beside])
        return solve(rows, np.append(room.offsets - room.normals[:, 0] * knob.axis, limit))


def fewer_may_win(bound: HullBound, by: BreakJudge, old: ToBeat) -> bool:
    """Tell whether a break into fewer lines may lose less than an old one. by: a judge of the bound's lines."""
    bounded, layout = 0, bound.layout
    for lines in _few_lines(layout, old.many - 1, lambda n: old.may_win(_lines_price(by, n), _widest_size(layout, n))):
        looks = by.bare(lines)
        if not old.may_win(looks, _widest_size(layout, lines)):
            continue
        bounded += 1
        if bounded > BREAKS_BOUNDED or bound.reaches(lines, partial(old.may_win, looks)):
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
